"""Letters of references and the kinds of parts they stand for."""

# Letters of references, IEC 81346-2 and the usual ones of circuit drawings (common practice); the longest match wins.
LETTERS = {
    "R": "resistor", "RV": "potentiometer", "VR": "potentiometer", "P": "potentiometer", "POT": "potentiometer",
    "C": "capacitor", "D": "diode", "ZD": "zener", "Z": "zener", "DZ": "zener", "BR": "bridge", "DB": "bridge",
    "T": "mains transformer", "TR": "mains transformer", "PT": "mains transformer", "MT": "mains transformer",
    "OT": "output transformer", "OPT": "output transformer", "L": "inductor", "CH": "inductor",
    "F": "fuse", "FS": "fuse", "S": "switch", "SW": "switch", "LP": "lamp", "LA": "lamp", "V": "triode",
    "Q": "n-channel mosfet", "J": "connector", "X": "connector", "CN": "connector", "SK": "connector",
    "PL": "connector", "B": "battery", "BT": "battery", "U": "regulator", "IC": "regulator", "W": "link", "LK": "link",
    "BU": "connector", "KL": "connector", "ST": "connector", "TB": "connector", "BP": "connector", "SI": "fuse",
    "DR": "inductor", "NE": "lamp", "NTC": "thermistor", "TH": "thermistor", "TS": "hardware", "PCB": "hardware",
    "RÖ": "triode", "ROE": "triode", "AÜ": "output transformer", "NT": "mains transformer",
    "H": "hardware", "M": "hardware", "HW": "hardware", "MP": "hardware",
}  # fmt: skip
