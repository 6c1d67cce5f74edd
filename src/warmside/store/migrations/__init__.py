"""Numbered steps from an empty database to the tables of today."""
