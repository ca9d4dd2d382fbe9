"""How a reading may come out. Symbols, classes and names are in builds/ui/messages/outcomes.py."""

from enum import StrEnum


class Outcome(StrEnum):
    IN_BAND = "in band"
    TOO_CLOSE = "too close to call"
    OUT_OF_BAND = "out of band"
    SWITCH_OFF = "switch off"


OFF = (Outcome.OUT_OF_BAND, Outcome.SWITCH_OFF)  # readings that ask for a cause
MISSED = (Outcome.TOO_CLOSE, *OFF)


class Reason(StrEnum):
    """Why a reading came out so."""

    WITHIN = "within"
    NO_FIGURE = "no figure"  # the guide has none yet
    NOT_CONNECTED = "not connected"  # over range where points must not be connected
    OVER_RANGE_WANTED = "over range wanted"
    CLOSE = "close"
    CLOSE_BY_DIGITS = "close by digits"  # the meter's last digits make most of the doubt
    CLOSE_BY_LOAD = "close by load"  # its own load on the point does
    CLOSE_BY_FREQUENCY = "close by frequency"  # its manual does not reach the frequency of what was read
    CLOSE_BY_RANGE = "close by range"  # on a higher range its load would be less, and the value out of band
    HARDLY_CONNECTED = "hardly connected"
    HIGH = "high"
    LOW = "low"
    CONNECTED = "connected"
    OVER_RANGE = "over range"
    BELOW_RANGE = "below range"
    STOP_ABOVE = "stop above"
    STOP_BELOW = "stop below"
    STOP_SWAPPED = "stop swapped"  # past the stop limit with the probes the wrong way round
    STOP_OVER_RANGE = "stop over range"
    STOP_BELOW_RANGE = "stop below range"
