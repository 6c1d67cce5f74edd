"""The season's heat and its worth."""
