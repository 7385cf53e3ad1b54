"""Drawn pictures for the demo: the invented washer-fluid reservoir and the places it passes.

No picture shows a real part, plant or product. Each says so in its lowest band.
"""

from __future__ import annotations

from collections.abc import Callable

from walkapp.demo.bench import packing_bench
from walkapp.demo.brushes import (
    AMBER,
    GREEN,
    INK,
    PAPER,
    RED,
    STEEL,
    TUBE,
    Colour,
    Point,
    Sheet,
    bent,
    placed,
    rounded,
)

NAMES = (
    "ear-ok",
    "ear-whitened",
    "ear-cracked",
    "leak-tester-soft-pads",
    "leak-tester-hard-pads",
    "mould-cavity",
    "weld-nest",
    "dock-pallet",
    "packing-bench",
)
"""Every picture that :func:`draw` knows."""

PLASTIC: tuple[Colour, ...] = ((176, 198, 212), (214, 228, 236), (140, 164, 182))
PLASTIC_DARK: tuple[Colour, ...] = ((120, 144, 162), (92, 114, 132))
SOFT_PAD: tuple[Colour, ...] = ((86, 120, 196), (40, 66, 140))
HARD_PAD: tuple[Colour, ...] = ((236, 132, 50), (176, 76, 14))
HOT: tuple[Colour, ...] = ((255, 190, 90), (240, 90, 30), (255, 190, 90))
WOOD: tuple[Colour, ...] = ((222, 184, 128), (182, 140, 88))
CARTON: tuple[Colour, ...] = ((214, 176, 128), (186, 144, 96))


def draw(name: str) -> bytes:
    """Draw a picture of the demo.

    Parameters
    ----------
    name
        One of :data:`NAMES`.

    Returns
    -------
    bytes
        A JPEG file of 1600 x 1200 pixels without metadata: the same bytes each time, as long as the same
        Pillow is installed.

    Raises
    ------
    ValueError
        If there is no picture of that name.
    """
    scenes: dict[str, Callable[[], bytes]] = {
        "ear-ok": _ear_ok,
        "ear-whitened": _ear_whitened,
        "ear-cracked": _ear_cracked,
        "leak-tester-soft-pads": lambda: _leak_tester(is_hard=False),
        "leak-tester-hard-pads": lambda: _leak_tester(is_hard=True),
        "mould-cavity": _mould_cavity,
        "weld-nest": _weld_nest,
        "dock-pallet": _dock_pallet,
        "packing-bench": packing_bench,
    }
    if name not in scenes:
        raise ValueError(f"no picture is called {name!r}; there are {', '.join(NAMES)}")
    return scenes[name]()


def _reservoir(sheet: Sheet, origin: Point, scale: float) -> None:
    """The whole part, on a grid of 116 x 116: body, weld seam, filler neck, pump port, mounting ear."""

    def on_grid(*points: Point) -> list[Point]:
        return placed(points, origin, scale)

    x, y = origin
    ear = on_grid((84, 44), (112, 44), (112, 64), (84, 76))
    sheet.shape(rounded(ear, 5 * scale), PLASTIC)
    hole = (x + 99 * scale, y + 49 * scale, x + 107 * scale, y + 57 * scale)
    sheet.oval(hole, ((70, 84, 96), (120, 136, 150)))
    sheet.shape(on_grid((36, 8), (56, 8), (56, 32), (36, 32)), PLASTIC, across=True)
    cap = (x + 32 * scale, y + 1 * scale, x + 60 * scale, y + 11 * scale)
    sheet.box(cap, ((70, 84, 98), (34, 44, 56)), radius=2 * scale)
    port = (x + 1 * scale, y + 94 * scale, x + 16 * scale, y + 104 * scale)
    sheet.box(port, ((120, 144, 162), (214, 228, 236), (120, 144, 162)), radius=2 * scale)
    body = on_grid((10, 44), (24, 28), (80, 28), (88, 40), (88, 114), (18, 114), (10, 104))
    sheet.shape(rounded(body, 9 * scale), PLASTIC, across=True)
    sheet.shape(
        rounded(on_grid((17, 46), (22, 38), (22, 62), (17, 62)), 2 * scale),
        ((240, 247, 251), (214, 228, 236)),
        outline=None,
    )
    seam = (x + 7 * scale, y + 79 * scale, x + 91 * scale, y + 85 * scale)
    sheet.box(seam, ((226, 236, 242), (132, 156, 174)), radius=2 * scale)
    for level in (94, 100, 106):
        sheet.line(on_grid((62, level), (78, level)), (96, 118, 136), 3)


def _ear_sheet(title: str, state: Callable[[Sheet], None]) -> Sheet:
    """The part on the left, its mounting ear large in a ring on the right."""
    sheet = Sheet(title)
    sheet.haze((90, 930, 640, 1010), (90, 100, 110), 0.6, 30)
    _reservoir(sheet, (70, 330), 5.4)
    sheet.line([(640, 560), (912, 318)], INK, 5)
    sheet.line([(640, 720), (912, 904)], INK, 5)
    sheet.ring((622, 640), 88, INK, 7)
    sheet.close_up((1110, 612), 370, lambda: _large_ear(sheet, state))
    return sheet


def _large_ear(sheet: Sheet, state: Callable[[Sheet], None]) -> None:
    sheet.box((700, 150, 1520, 1060), ((238, 242, 245), (200, 209, 216)), outline=None)
    sheet.haze((920, 830, 1420, 930), (80, 92, 104), 0.5, 40)
    outline = [(900, 380), (980, 420), (1390, 420), (1390, 700), (1010, 800), (900, 880)]
    thickness = [(x + 16, y + 34) for x, y in outline]
    sheet.shape(rounded(thickness, 60), PLASTIC_DARK)
    sheet.shape(rounded(outline, 60), PLASTIC)
    sheet.box((640, 150, 940, 1060), PLASTIC, across=True)
    sheet.box((690, 150, 740, 1060), ((244, 249, 252), (226, 236, 242)), outline=None)
    sheet.oval((1180, 474, 1340, 634), ((66, 80, 92), (104, 120, 134)), width=5)
    sheet.oval((1200, 506, 1340, 634), ((205, 214, 221), (238, 242, 245)), width=3)
    state(sheet)


def _verdict(sheet: Sheet, *, is_ok: bool, words: str) -> None:
    """OK as a tick in a circle, NOK as a cross in a square: shape and word, never colour alone."""
    colour = GREEN if is_ok else RED
    sheet.label(words, (200 + sheet.half_width(words, 60), 230), colour=colour, size_px=60)
    if is_ok:
        sheet.oval((46, 172, 162, 288), (colour, colour), outline=PAPER)
        sheet.line([(76, 232), (98, 256), (134, 206)], PAPER, 14)
    else:
        sheet.box((46, 172, 162, 288), (colour, colour), radius=10, outline=PAPER)
        sheet.line([(78, 204), (130, 256)], PAPER, 14)
        sheet.line([(130, 204), (78, 256)], PAPER, 14)


def _ear_ok() -> bytes:
    sheet = _ear_sheet("Mounting ear: OK limit sample", lambda sheet: None)
    _verdict(sheet, is_ok=True, words="OK limit sample")
    sheet.label("even colour, no line at the root", (1090, 1030), (985, 640), colour=GREEN)
    return sheet.finish()


def _ear_whitened() -> bytes:
    def whiten(sheet: Sheet) -> None:
        sheet.haze((936, 440, 1066, 830), PAPER, 1.0, 46)
        sheet.haze((944, 480, 1030, 780), PAPER, 1.0, 16)
        for step in range(9):
            y = 500 + step * 32
            sheet.line([(952, y), (1000 + 14 * (step % 3), y - 18)], (150, 172, 188), 3)

    sheet = _ear_sheet("Mounting ear: whitened", whiten)
    _verdict(sheet, is_ok=False, words="NOK: whitened")
    sheet.label("white haze at the ear root", (1110, 1030), (1006, 690), colour=RED)
    return sheet.finish()


def _ear_cracked() -> bytes:
    def crack(sheet: Sheet) -> None:
        sheet.haze((940, 470, 1050, 800), PAPER, 0.85, 40)
        path = [
            (1004, 420),
            (988, 474),
            (1012, 524),
            (978, 588),
            (1002, 640),
            (972, 706),
            (990, 766),
            (972, 830),
        ]
        sheet.line([(x + 7, y + 2) for x, y in path], PAPER, 10)
        sheet.line(path, (20, 20, 26), 10)
        sheet.line([(978, 588), (1030, 622), (1052, 668)], (20, 20, 26), 6)
        sheet.line([(1012, 524), (1052, 508)], (20, 20, 26), 5)

    sheet = _ear_sheet("Mounting ear: cracked", crack)
    _verdict(sheet, is_ok=False, words="NOK: cracked")
    sheet.label("crack through the ear root", (1110, 1030), (982, 744), colour=RED)
    return sheet.finish()


def _leak_tester(*, is_hard: bool) -> bytes:
    kind = "new harder" if is_hard else "old soft"
    sheet = Sheet(f"Leak tester: {kind} clamp pads")
    _tester_frame(sheet)
    _reservoir(sheet, (240, 420), 4.6)
    _clamp(sheet, (736, 676), 0.42, is_hard=is_hard)
    sheet.line([(790, 596), (1010, 398)], INK, 5)
    sheet.line([(790, 770), (1010, 862)], INK, 5)
    sheet.ring((726, 682), 104, INK, 7)
    sheet.close_up((1190, 628), 310, lambda: _pads_on_ear(sheet, is_hard=is_hard))
    colour = RED if is_hard else GREEN
    words = "hard pad: load on the edge" if is_hard else "soft pad: load spread out"
    sheet.label(words, (1246, 1020), (1150, 780), colour=colour)
    sheet.label("air", (615, 206))
    sheet.label("side view", (1440, 250), size_px=48)
    return sheet.finish()


def _tester_frame(sheet: Sheet) -> None:
    """Base, posts, head with the seal on the filler neck, air hose and gauge."""
    sheet.haze((60, 1010, 900, 1090), (80, 90, 100), 0.5, 24)
    sheet.box((96, 230, 146, 970), TUBE, across=True)
    sheet.box((812, 230, 862, 970), TUBE, across=True)
    sheet.box((60, 950, 900, 1050), STEEL, radius=10)
    sheet.box((60, 270, 900, 350), STEEL, radius=10)
    sheet.box((420, 340, 480, 400), TUBE, across=True)
    sheet.box((372, 392, 532, 432), ((70, 84, 98), (30, 40, 52)), radius=12)
    hose = [*bent((450, 276), (450, 206), (540, 206)), *bent((690, 206), (780, 206), (780, 276))]
    sheet.line(hose, (40, 90, 150), 18)
    sheet.oval((196, 246, 326, 376), (PAPER, (226, 231, 236)), width=8)
    sheet.line([(261, 311), (296, 276)], RED, 8)
    for x in (90, 130, 830, 870):
        sheet.oval((x - 11, 1004, x + 11, 1026), ((120, 130, 140), (70, 80, 90)), width=3)


def _clamp(sheet: Sheet, centre: Point, scale: float, *, is_hard: bool) -> None:
    """Two pads that press the ear from above and below, on rods from the head and from the base."""
    x, y = centre
    pad, half = (HARD_PAD if is_hard else SOFT_PAD), (70 if is_hard else 110) * scale
    high, radius = (60 if is_hard else 100) * scale, (2 if is_hard else 40) * scale
    for side in (-1, 1):
        near, far = y + side * 122 * scale, y + side * (122 * scale + high)
        top, bottom = min(near, far), max(near, far)
        rod = (x - 11, 346, x + 11, top) if side < 0 else (x - 11, bottom, x + 11, 954)
        sheet.box(rod, TUBE, across=True, width=3)
        sheet.box((x - half, top, x + half, bottom), pad, radius=radius, width=3)


def _pads_on_ear(sheet: Sheet, *, is_hard: bool) -> None:
    """Section through the ear between the pads, with the load as arrows."""
    sheet.box((860, 300, 1520, 960), ((238, 242, 245), (200, 209, 216)), outline=None)
    sheet.shape(
        rounded(
            [
                (880, 470),
                (960, 470),
                (1010, 572),
                (1460, 572),
                (1460, 690),
                (1010, 690),
                (960, 800),
                (880, 800),
            ],
            44,
        ),
        PLASTIC,
    )
    sheet.box((840, 280, 964, 980), PLASTIC, across=True)
    pads = ((1040, 462, 1300, 572), (1040, 690, 1300, 800)) if is_hard else (
        (1030, 392, 1390, 582), (1030, 680, 1390, 870))  # fmt: skip
    loads_x = [1070] if is_hard else [1080, 1160, 1240, 1320]
    for pad in pads:
        sheet.box(pad, HARD_PAD if is_hard else SOFT_PAD, radius=4 if is_hard else 56)
        _texture(sheet, pad, is_hard=is_hard)
    rod_x = 1170 if is_hard else 1210
    sheet.box((rod_x - 44, 290, rod_x + 44, pads[0][1]), TUBE, across=True)
    sheet.box((rod_x - 44, pads[1][3], rod_x + 44, 980), TUBE, across=True)
    if is_hard:
        sheet.haze((980, 560, 1060, 620), PAPER, 1.0, 16)
        sheet.haze((980, 642, 1060, 702), PAPER, 1.0, 16)
        sheet.line([(1034, 576), (1018, 598), (1030, 618), (1014, 640)], (20, 20, 26), 7)
    width = 16 if is_hard else 8
    for x in loads_x:
        sheet.arrow((x, pads[0][3] - 86), (x, pads[0][3] - 4), PAPER, width)
        sheet.arrow((x, pads[1][1] + 86), (x, pads[1][1] + 4), PAPER, width)


def _texture(sheet: Sheet, pad: tuple[float, float, float, float], *, is_hard: bool) -> None:
    """Pores for soft foam; hatching for a hard plate."""
    left, top, right, bottom = (round(edge) for edge in pad)
    if is_hard:
        for x in range(left + 20, right - 50, 34):
            sheet.line([(x, bottom - 12), (x + 40, top + 12)], (150, 62, 8), 3)
        return
    for row, y in enumerate(range(top + 30, bottom - 20, 32)):
        for x in range(left + 36 + 18 * (row % 2), right - 30, 36):
            sheet.oval((x - 5, y - 5, x + 5, y + 5), ((28, 48, 110), (28, 48, 110)), outline=None)


def _mould_cavity() -> bytes:
    sheet = Sheet("Moulding tool: cavity 2", ((226, 231, 236), (186, 196, 206)))
    sheet.haze((160, 980, 1460, 1080), (60, 70, 80), 0.6, 26)
    sheet.box((170, 200, 1430, 1030), ((206, 213, 220), (138, 148, 160)), radius=18, width=6)
    sheet.box((210, 240, 1390, 990), ((178, 188, 198), (158, 168, 180)), radius=12)
    for x in (280, 1320):
        for y in (310, 920):
            sheet.oval((x - 46, y - 46, x + 46, y + 46), ((236, 240, 244), (120, 130, 142)))
            sheet.oval((x - 24, y - 24, x + 24, y + 24), ((80, 90, 102), (140, 150, 160)), width=3)
    cavity = placed(
        [(10, 44), (24, 24), (80, 24), (88, 40), (88, 114), (18, 114), (10, 104)], (440, 196), 6.3
    )
    ear = placed([(84, 44), (114, 44), (114, 64), (84, 76)], (440, 196), 6.3)
    deep: tuple[Colour, ...] = ((72, 84, 98), (116, 128, 142), (150, 162, 174))
    sheet.shape(rounded(ear, 30), deep)
    sheet.shape(rounded(cavity, 56), deep, across=True)
    inner = placed(
        [(20, 48), (30, 34), (74, 34), (80, 44), (80, 106), (24, 106), (20, 100)], (440, 196), 6.3
    )
    sheet.shape(
        rounded(inner, 46), ((96, 108, 122), (136, 148, 160)), across=True, outline=(54, 64, 76), width=3
    )
    sheet.oval((1058, 492, 1122, 556), ((190, 200, 210), (120, 132, 144)))
    sheet.line([(590, 240), (590, 330), (640, 352)], (70, 80, 92), 16)
    sheet.text("2", (780, 700), 150, (56, 66, 78))
    sheet.label("ear", (1270, 700), (1090, 574))
    sheet.label("gate", (400, 440), (618, 344))
    sheet.label("cavity number", (460, 1030), (728, 760))
    return sheet.finish()


def _weld_nest() -> bytes:
    sheet = Sheet("Hot-plate welding: nest", ((240, 243, 246), (206, 214, 221)))
    sheet.haze((330, 1010, 1270, 1086), (60, 70, 80), 0.6, 24)
    sheet.box((240, 170, 300, 1050), TUBE, across=True)
    sheet.box((1300, 170, 1360, 1050), TUBE, across=True)
    sheet.box((200, 160, 1400, 226), STEEL, radius=10)
    sheet.box((200, 1000, 1400, 1070), STEEL, radius=10)
    sheet.box((760, 220, 840, 300), TUBE, across=True)
    upper = [(540, 500), (540, 400), (610, 350), (990, 350), (1060, 400), (1060, 500)]
    lower = [(540, 740), (1060, 740), (1060, 880), (1010, 930), (590, 930), (540, 880)]
    sheet.shape(rounded([(1030, 410), (1210, 410), (1210, 476), (1030, 500)], 26), PLASTIC)
    sheet.oval((1132, 424, 1172, 464), ((70, 84, 96), (120, 136, 150)), width=3)
    sheet.shape(rounded(upper, 44), PLASTIC, across=True)
    sheet.box((524, 492, 1076, 526), ((226, 236, 242), (132, 156, 174)), radius=8)
    sheet.shape(rounded(lower, 44), PLASTIC, across=True)
    sheet.box((524, 716, 1076, 750), ((226, 236, 242), (132, 156, 174)), radius=8)
    nest: tuple[Colour, ...] = ((96, 108, 122), (58, 68, 80))
    sheet.shape(
        [(440, 290), (1160, 290), (1160, 380), (1010, 380), (960, 336), (640, 336), (560, 390), (440, 390)],
        nest,
    )
    sheet.shape([(440, 1006), (440, 820), (528, 820), (528, 890), (590, 946), (1010, 946), (1072, 890),
                 (1072, 820), (1160, 820), (1160, 1006)], nest)  # fmt: skip
    sheet.haze((380, 560, 1220, 680), (255, 120, 40), 0.7, 50)
    sheet.box((350, 586, 1250, 656), HOT, radius=8, width=5)
    for x in range(410, 1240, 60):
        sheet.oval((x - 9, 612, x + 9, 630), ((150, 40, 10), (110, 24, 4)), outline=None)
    sheet.label("upper nest", (460, 262), (620, 312))
    sheet.label("hot plate", (196, 500), (380, 610), colour=RED)
    sheet.label("ear", (1460, 420), (1196, 446))
    sheet.label("lower nest", (1330, 930), (1120, 900))
    return sheet.finish()


def _dock_pallet() -> bytes:
    sheet = Sheet("Customer dock: pallet as received", ((222, 228, 233), (198, 206, 213)))
    sheet.box((0, 860, 1600, 1200), ((168, 174, 180), (196, 201, 206)), outline=None)
    for y in range(150, 800, 54):
        sheet.line([(1080, y), (1600, y)], (176, 186, 195), 4)
    sheet.box((1060, 120, 1100, 866), (AMBER, (230, 170, 30)), across=True)
    sheet.haze((150, 1010, 1080, 1090), (60, 66, 72), 0.7, 22)
    for x in (180, 560, 940):
        sheet.box((x, 976, x + 110, 1050), WOOD)
    sheet.box((160, 940, 1070, 980), WOOD, radius=4)
    sheet.box((160, 1044, 1070, 1072), WOOD, radius=4)
    for row in range(3):
        for column in range(3):
            left, top = 190 + column * 284, 220 + row * 240
            sheet.box((left, top, left + 280, top + 236), CARTON, radius=6)
            sheet.box(
                (left + 122, top, left + 158, top + 236), ((232, 204, 160), (206, 172, 122)), outline=None
            )
            sheet.box((left + 20, top + 130, left + 116, top + 206), (PAPER, PAPER), radius=4, width=3)
            for bar in range(6):
                x = left + 32 + bar * 13
                sheet.line([(x, top + 142), (x, top + 182)], INK, 3 + 3 * (bar % 2))
    for x in (300, 926):
        sheet.box((x, 214, x + 22, 942), ((40, 90, 150), (24, 60, 110)), outline=None)
    sheet.haze((1200, 880, 1500, 920), (60, 66, 72), 0.7, 14)
    _reservoir(sheet, (1180, 520), 3.3)
    sheet.label("lot label", (1310, 300), (860, 630))
    sheet.label("one part taken out", (1330, 1000), (1350, 860))
    return sheet.finish()
