"""Building blocks: a few references and points, from which parts are placed and joined at once."""

from builds.guides.blocks.catalogue import BLOCKS
from builds.guides.blocks.place import place_block

__all__ = ["BLOCKS", "place_block"]
