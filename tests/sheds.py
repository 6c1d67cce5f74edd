"""A shed of one small wall: an invented house that is quick to study."""

_TEXT = """
[house]
name = "shed"
climate = "ottawa"
year_built = 1950
floor_area = "400 ft2"
volume = "3200 ft3"
indoor_humidity = "{humidity}"

[[wall]]
name = "front"
faces = "N"
frame = "platform"
length = "8 ft"
height = "8 ft"
{of_wall}
[wall.found]
finish = ["plaster-on-wood-lath"]
sheathing = ["board-sheathing"]
cladding = "wood-bevel-siding"

[[option]]
only = true
{options}
"""


def shed(humidity: str, options: str, of_wall: str = "") -> str:
    """Its survey, with the options alone that are given."""
    return _TEXT.format(humidity=humidity, options=options, of_wall=of_wall)
