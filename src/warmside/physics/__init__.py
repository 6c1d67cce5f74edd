"""How the wall behaves: heat, moisture, air. Knows no file names, no currency, no HTML."""
