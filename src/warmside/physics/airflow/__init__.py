"""Leaks, fan tests, infiltration."""
