"""A package, since a benchmark has its name, too."""
