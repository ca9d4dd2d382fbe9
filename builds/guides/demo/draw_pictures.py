"""Draw the demo guides' pictures: python -m builds.guides.demo.draw_pictures"""

from pathlib import Path

from PIL import Image, ImageDraw, ImageFont

PAPER, INK, SOFT, WIRE = "#fdfaf3", "#1f1a14", "#8a7a62", "#9a4a06"
W, H = 800, 600
HERE = Path(__file__).parent


def sheet(title):
    image = Image.new("RGB", (W, H), PAPER)
    draw = ImageDraw.Draw(image)
    text(draw, 20, 14, title, 26)
    return image, draw


def text(draw, x, y, label, size=20, anchor=None, fill=INK):
    draw.text((x, y), label, fill=fill, font=ImageFont.load_default(size), anchor=anchor)


def box(draw, x0, y0, x1, y1, label, fill=PAPER):
    draw.rounded_rectangle((x0, y0, x1, y1), 10, outline=INK, width=3, fill=fill)
    text(draw, (x0 + x1) / 2, (y0 + y1) / 2, label, anchor="mm")


def supply():
    image, draw = sheet("Supply: tag board and cans, seen from below")
    for k, (can, node) in enumerate(
        zip(("C1", "C2", "C3", "C4"), ("reservoir", "output", "screen", "preamp"), strict=True)
    ):
        x = 176 + 160 * k
        draw.ellipse((x - 58, 240, x + 58, 356), outline=INK, width=3)
        draw.ellipse((x - 9, 207, x + 9, 225), outline=INK, width=3)
        draw.line((x, 225, x, 240), fill=INK, width=3)
        text(draw, x + 18, 206, "+", 24)
        text(draw, x, 298, can, 26, "mm")
        text(draw, x, 372, node, 18, "ma", SOFT)
        if k:
            draw.line((x - 151, 216, x - 9, 216), fill=WIRE, width=4)
            box(draw, x - 120, 200, x - 40, 232, f"R{k}")
    for y, diode in ((432, "D1"), (516, "D2")):
        draw.line((96, y, 400, y), fill=WIRE, width=4)
        box(draw, 180, y - 20, 300, y + 20, diode, "#d9d2c2")
        draw.rectangle((280, y - 20, 288, y + 20), fill=INK)
        draw.ellipse((88, y - 8, 104, y + 8), outline=INK, width=3)
    draw.line((400, 432, 400, 516), fill=WIRE, width=4)
    text(draw, 420, 460, "rings meet at tag 3, then F2, then C1 +")
    return image


FIVE_WATT = (
    ("V1 ECC83", 220, {"4": "heater", "5": "heater", "9": "heater"}),
    ("V2 EL84", 580, {"4": "heater", "5": "heater", "7": "anode", "3": "cathode", "2": "grid", "9": "screen"}),
)
PREAMP = (
    ("V1, V2 ECC82", 220, {"4": "heater", "5": "heater", "9": "heater", "6": "anode", "2": "grid b"}),
    ("V3 EZ81", 580, {"4": "heater", "5": "heater", "1": "anode", "7": "anode", "3": "cathode"}),
)


def sockets(valves):
    image, draw = sheet("Sockets from below, gap towards the rear")
    from builds.ui.drawings.socket import list_pins

    for ref, cx, labels in valves:
        draw.ellipse((cx - 150, 150, cx + 150, 450), outline=INK, width=3)
        text(draw, cx, 300, ref, 26, "mm")
        for pin in list_pins("B9A"):
            x, y = cx + (pin.x - 80) * 2.4, 300 + (pin.y - 80) * 2.4
            marked = pin.number in labels
            draw.ellipse((x - 13, y - 13, x + 13, y + 13), outline=INK, width=3, fill="#f0a044" if marked else PAPER)
            text(draw, x, y, pin.number, 17, "mm")
            if marked:
                dx, dy = (pin.x - 80) * 3.5, (pin.y - 80) * 3.35
                text(draw, cx + dx, 300 + dy, labels[pin.number], 17, "mm", WIRE)
        draw.line((cx - 14, 452, cx, 436, cx + 14, 452), fill=INK, width=4)
    text(draw, 400, 560, "Pins count clockwise from the gap.", 22, "mm")
    return image


def chassis():
    image, draw = sheet("Chassis from below")
    draw.rectangle((40, 80, 760, 560), outline=INK, width=4)
    box(draw, 80, 120, 280, 300, "T1")
    box(draw, 560, 140, 720, 290, "T2")
    for x, ref in ((400, "V2"), (480, "V1")):
        draw.ellipse((x - 34, 186, x + 34, 254), outline=INK, width=3)
        text(draw, x, 220, ref, 20, "mm")
    box(draw, 200, 340, 720, 420, "tag board, tag 1 at this end")
    draw.ellipse((72, 456, 120, 504), outline=WIRE, width=5)
    text(draw, 96, 480, "E", 24, "mm")
    text(draw, 140, 470, "earth stud: bare metal, tag, shakeproof washer, two nuts")
    text(draw, 60, 520, "rear: inlet, F1, S1", 18, fill=SOFT)
    return image


def can():
    image, draw = sheet("The can from below: one minus, three plus tags")
    draw.ellipse((60, 110, 660, 470), outline=INK, width=3)
    for k, (ref, node) in enumerate(zip(("C1", "C2", "C3"), ("first", "second", "third"), strict=True)):
        x = 160 + 200 * k
        draw.ellipse((x - 14, 238, x + 14, 266), outline=INK, width=3)
        text(draw, x, 214, f"{ref} +", 24, "mm")
        text(draw, x, 290, node, 18, "ma", SOFT)
        if k:
            draw.line((x - 186, 252, x - 14, 252), fill=WIRE, width=4)
            box(draw, x - 145, 234, x - 55, 270, f"R{k}")
    box(draw, 100, 340, 220, 380, "R3 bleeder", "#d9d2c2")
    draw.line((160, 266, 160, 340), fill=WIRE, width=4)
    draw.line((160, 380, 80, 486), fill=INK, width=4)
    draw.ellipse((56, 480, 104, 528), outline=WIRE, width=5)
    text(draw, 80, 504, "E", 24, "mm")
    text(draw, 124, 494, "earth stud: every minus ends here")
    return image


def main():
    drawn = {
        "five-watt": {"supply": supply(), "sockets": sockets(FIVE_WATT), "chassis": chassis()},
        "line-preamp": {"supply": can(), "sockets": sockets(PREAMP)},
    }
    for kit, pictures in drawn.items():
        for name, image in pictures.items():
            image.save(HERE / kit / f"{name}.png", optimize=True)


if __name__ == "__main__":
    main()
