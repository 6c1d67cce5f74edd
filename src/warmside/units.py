"""Trade units in and out; SI floats in between."""
