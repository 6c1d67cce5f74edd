"""When wood is dry: the limits of its moisture that every room of the house judges by."""

# kg of water per kg of dry wood, as a moisture meter shows it
DRY_WOOD = 0.19  # at most, before wood is covered; trade guides say below 19 % (second-hand)
ROT_STARTS = 0.26  # near fibre saturation rot can start; common practice
FIBRE_SATURATION = 0.28  # the cell walls hold no more; from memory
