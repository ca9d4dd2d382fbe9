"""Which node names are one piece of wire, and which pieces hang together by resistance."""

CHASSIS = "chassis"


class Groups:
    """Sets of things that are joined, by union and find."""

    def __init__(self):
        self.parent = {}

    def find(self, item):
        self.parent.setdefault(item, item)
        while self.parent[item] != item:
            self.parent[item] = self.parent[self.parent[item]]
            item = self.parent[item]
        return item

    def join(self, one, other):
        one, other = self.find(one), self.find(other)
        if one != other:
            self.parent[one] = other

    def together(self, one, other) -> bool:
        return self.find(one) == self.find(other)


def merged_nodes(parts, condition) -> dict[str, int]:
    """Node name -> number, names joined by links, closed switches or a track turned to its end sharing one.

    The chassis has the highest number; numbers follow the parts list.
    """
    wires, settings = Groups(), dict(condition.settings)
    wires.find(CHASSIS)
    for part in parts:
        for node in part.nodes:
            wires.find(node)
        for one, other in _shorts(part, condition, settings):
            wires.join(one, other)
    order: dict = {}
    for name in wires.parent:
        root = wires.find(name)
        if root != wires.find(CHASSIS):
            order.setdefault(root, len(order))
    order[wires.find(CHASSIS)] = len(order)
    return {name: order[wires.find(name)] for name in wires.parent}


def _shorts(part, condition, settings):
    if part.ref in condition.not_fitted:
        return
    if part.kind == "link" or (part.kind == "switch" and not (part.open_when_off and condition.power == "off")):
        yield part.joins["a"], part.joins["b"]
    elif part.kind == "potentiometer":
        setting = settings.get(part.ref, part.setting)
        if setting in (0, 1):
            yield part.joins["wiper"], part.joins["top" if setting == 1 else "bottom"]
