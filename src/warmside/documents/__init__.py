"""Papers that a client, an official and a crew can act on (PDF)."""
