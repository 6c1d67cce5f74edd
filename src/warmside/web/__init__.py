"""The pages: the whole job in a browser, on desk, tablet and phone."""

from warmside.web.app import create_app
from warmside.web.backups import Backups
from warmside.web.certificate import Certificate
from warmside.web.certificate import given as given_certificate
from warmside.web.certificate import own as own_certificate
from warmside.web.proof_files import take_in
from warmside.web.server import begin, serve
from warmside.web.web import Web

__all__ = [
    "Backups",
    "Certificate",
    "Web",
    "begin",
    "create_app",
    "given_certificate",
    "own_certificate",
    "serve",
    "take_in",
]
