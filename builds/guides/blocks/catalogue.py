"""Every building block, in the order in which a circuit is usually laid out."""

from builds.guides.blocks.outputs import PUSH_PULL, SINGLE
from builds.guides.blocks.stages import CATHODYNE, FOLLOWER, PAIR, TRIODE, UNUSED
from builds.guides.blocks.supply import BIAS, HEATERS, RECTIFIER, REGULATOR
from builds.guides.blocks.two_triodes import CASCADE, CASCODE

ALL = (
    RECTIFIER,
    HEATERS,
    TRIODE,
    CASCADE,
    CASCODE,
    FOLLOWER,
    CATHODYNE,
    PAIR,
    SINGLE,
    PUSH_PULL,
    BIAS,
    REGULATOR,
    UNUSED,
)
BLOCKS = {block.key: block for block in ALL}
