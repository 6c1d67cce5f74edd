"""The pages: the whole job in a browser, on desk, tablet and phone."""

from warmside.web._app import create_app
from warmside.web._proof_kept import take_in
from warmside.web._serve import begin, serve
from warmside.web._web import Web

__all__ = ["Web", "begin", "create_app", "serve", "take_in"]
