"""Scans with known holes are drawn, and the holes found again."""

from __future__ import annotations

import secrets
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import ndimage

from archive.geometry.holes.finding import find_holes
from archive.geometry.holes.lines import ink_of_lines
from archive.geometry.holes.marks import Mark as SeenMark
from archive.geometry.holes.rims import LitHole, middle_beside_rim
from archive.geometry.holes.streaks import on_streaks
from tests.designs import Curve, Drawing, Points, Word, edging, net
from tests.rendering import Look, Mark, Rendered, draw, matched, random_look

WITHIN_MM = 0.25


def strip(seed: int, pitch_mm: float = 2.5, angle_deg: float = 45.0) -> Drawing:
    """An edging on a sheet of 80 by 70 mm."""
    design = edging(np.random.default_rng(seed), 60.0, pitch_mm, angle_deg)
    shift = np.array([6.0, 5.0])
    holes = design.holes_mm[design.holes_mm[:, 0] < 70] + shift
    curves = tuple(replace(curve, points_mm=curve.points_mm + shift) for curve in design.curves)
    return Drawing((80.0, 70.0), holes, curves, design.words)


def winding_tape() -> Drawing:
    """A tape without a ground on such a sheet, with twice as many pins on one edge."""
    along = np.linspace(0, 2 * np.pi, 60)
    middle = np.stack([8 + 10 * along, 35 + 11 * np.sin(along)], axis=1)
    direction = np.gradient(middle, axis=0)
    across = np.stack([-direction[:, 1], direction[:, 0]], axis=1)
    across /= np.hypot(*across.T)[:, None]
    tape = np.concatenate([middle - 1.7 * across, (middle + 1.7 * across)[::2]])
    return Drawing((80.0, 70.0), tape)


def scanned(drawing: Drawing, look: Look, seed: int = 1) -> Rendered:
    print(f"seed {seed}")
    return draw(drawing, look, np.random.default_rng(seed))


def score(positions_px: Points, scan: Rendered) -> tuple[float, float]:
    """F1 and root mean square error in µm of positions found in a scan."""
    pairs = matched(positions_px, scan.positions_px, WITHIN_MM * scan.px_per_mm)
    error_px = positions_px[pairs[:, 0]] - scan.positions_px[pairs[:, 1]]
    f1 = 2 * len(pairs) / max(len(positions_px) + len(scan.positions_px), 1)
    rms_um = 1000 * np.sqrt((error_px**2).sum(axis=1).mean()) / scan.px_per_mm
    return f1, float(rms_um)


FRESH_SCANS = 16


def test_the_holes_of_fresh_scans_are_found() -> None:
    """Dots, crosses and pricked holes, all together.

    The goal is an F1 of 0.985 and 19 µm. Of 200 other scans, drawn from again sixteen at a time,
    one batch in 10,000 had an F1 below 0.989, and one in 1,000 an error above 18.1 µm, one in
    10,000 above 19.0: hence a bound of 22 here. Rings are left out: of twelve photocopied ones two
    were lost whole. `benchmarks/holes.py` counts them too.
    """
    first = secrets.randbelow(10**6)
    hits, found, holes, squares_um = 0, 0, 0, []
    for seed in range(first, first + FRESH_SCANS):
        rng = np.random.default_rng(seed)
        pitch_mm = float(rng.uniform(1.25, 3.96))
        drawing = strip(seed, pitch_mm, float(rng.choice([45.0, rng.uniform(52, 65)])))
        look = random_look(rng, 300.0, pitch_mm)
        while look.mark == "ring":
            look = random_look(rng, 300.0, pitch_mm)
        scan = draw(drawing, look, rng)
        positions_px = find_holes(scan.grey).positions_px
        pairs = matched(positions_px, scan.positions_px, WITHIN_MM * scan.px_per_mm)
        error_px = positions_px[pairs[:, 0]] - scan.positions_px[pairs[:, 1]]
        squares_um.append(((1000 / scan.px_per_mm * error_px) ** 2).sum(axis=1))
        print(f"seed {seed}: {len(pairs)} of {len(scan.positions_px)}, {len(positions_px)} found")
        hits += len(pairs)
        found += len(positions_px)
        holes += len(scan.positions_px)
    assert 2 * hits / (found + holes) >= 0.985
    assert np.sqrt(np.concatenate(squares_um).mean()) <= 22


CLEAN = Look()
LOOKS = {
    "printed dots": CLEAN,
    "small dots": Look(radius_mm=0.15),
    "large dots": Look(radius_mm=0.45),
    "rings": Look(mark="ring", radius_mm=0.4),
    "crosses": Look(mark="cross", radius_mm=0.4),
    "pricked brown card": Look(mark="pricked", paper=0.5, contrast=0.35, noise=0.02),
    "light on dark": Look(paper=0.25, contrast=0.6),
    "a photocopy": Look(bilevel=True, specks=0.5, blur_mm=0.06),
    "stained, dirty and compressed": Look(stains=5, specks=0.8, noise=0.03, jpeg_quality=70),
    "faint and blurred": Look(contrast=0.15, blur_mm=0.12, noise=0.01),
}


@pytest.mark.parametrize("name", LOOKS)
def test_one_setting_finds_the_holes_of_every_sheet(name: str) -> None:
    scan = scanned(strip(3), LOOKS[name])
    found = find_holes(scan.grey)
    f1, rms_um = score(found.positions_px, scan)
    assert f1 >= 0.985
    assert rms_um <= 19
    assert found.polarity == ("light" if LOOKS[name].paper < 0.5 else "dark")


@pytest.mark.parametrize(("angle_deg", "pitch_mm"), [(52, 2.0), (58, 3.0), (65, 1.6), (45, 1.25)])
def test_grounds_of_every_angle_and_pitch_are_found(angle_deg: float, pitch_mm: float) -> None:
    scan = scanned(strip(4, pitch_mm, angle_deg), Look(radius_mm=0.18, turn_deg=4.0))
    assert score(find_holes(scan.grey).positions_px, scan)[0] >= 0.985


@pytest.mark.parametrize("dpi", [150, 200, 400, 600, 1200])
def test_holes_are_found_at_every_resolution(dpi: float) -> None:
    drawing = strip(5)
    upper = Drawing((80.0, 40.0), drawing.holes_mm[drawing.holes_mm[:, 1] < 38], drawing.curves)
    look = Look(dpi=dpi, blur_mm=0.05)
    scan = scanned(upper, look)
    found = find_holes(scan.grey)
    f1, rms_um = score(found.positions_px, scan)
    assert f1 >= 0.985
    assert rms_um <= 19
    assert found.radius_px == pytest.approx(look.radius_mm * scan.px_per_mm, rel=0.35)


def test_the_sheet_between_crowded_rings_is_not_taken_for_light_holes() -> None:
    scan = scanned(strip(3, 1.44), Look(mark="ring", radius_mm=0.35, blur_mm=0.038))
    found = find_holes(scan.grey)
    assert found.polarity == "dark"
    assert score(found.positions_px, scan)[0] >= 0.985


def test_a_line_goes_on_under_a_mark_and_a_mark_is_no_line() -> None:
    radius_px = 4.0
    down, across = np.mgrid[-12:13, -12:13]
    far = np.hypot(down, across)
    line = np.where(np.abs(across + down - 5) < 4, 0.7, 0.0)
    share = np.maximum(line, far <= radius_px).astype(np.float32)
    found = ink_of_lines(share[None], radius_px)[0]
    mark_alone = (far <= radius_px) & (np.abs(across + down - 5) > 6)
    under = (np.abs(across + down - 5) < 2) & (far < 2 * radius_px)
    np.testing.assert_allclose(found[under], 0.7)
    assert mark_alone.sum() > 10
    assert not found[mark_alone].any()


@pytest.mark.parametrize("gap_deg", [0, 60])
def test_rings_are_filled_and_the_sheet_between_them_is_not(gap_deg: float) -> None:
    down, across = np.mgrid[0:40, 0:60]
    left, right = (np.hypot(down - 20, across - middle) for middle in (24, 36))
    ink = (np.minimum(np.abs(left - 4), np.abs(right - 4)) < 1).astype(np.float32)
    ink[np.abs(np.degrees(np.arctan2(20 - down, across - 24)) - 90) < gap_deg / 2] = 0
    filled = SeenMark(0, 4.5, hollow=True).filled(ink)
    assert filled[20, 24] > 0.5
    assert filled[20, 30] < 0.7 * filled[20, 24]


def test_a_rim_that_catches_the_light_moves_no_hole() -> None:
    look = replace(LOOKS["pricked brown card"], blur_mm=0.08)
    scan = scanned(strip(3), look)
    found = find_holes(scan.grey).positions_px
    pairs = matched(found, scan.positions_px, WITHIN_MM * scan.px_per_mm)
    aside_um = (found[pairs[:, 0]] - scan.positions_px[pairs[:, 1]]) * 1000 / scan.px_per_mm
    assert np.abs(aside_um.mean(axis=0)).max() <= 3


@pytest.mark.parametrize("light", [0.0, 0.7])
def test_the_middle_of_a_drawn_hole_is_found_beside_its_rim(light: float) -> None:
    hole = LitHole(0.3, 0.4, 0.4 * light, 0.2, 0.3, -1.0, 1.2, 2.5, 1.0)
    middle = middle_beside_rim(hole.drawn(13).astype(np.float32), 2.2)
    np.testing.assert_allclose(middle, [0.2, 0.3] if light else [0, 0], atol=0.01)


def test_rough_paper_pulls_no_centre_aside() -> None:
    scan = scanned(strip(3), Look(contrast=0.5))
    rough = ndimage.gaussian_filter(np.random.default_rng(1).normal(size=scan.grey.shape), 5)
    grey = scan.grey - 0.1 + 0.1 * rough / rough.std()
    f1, rms_um = score(find_holes(grey.astype(np.float32)).positions_px, scan)
    assert f1 >= 0.985
    assert rms_um <= 12


def test_a_broken_line_is_no_row_of_holes() -> None:
    scan = scanned(strip(3), LOOKS["pricked brown card"])
    grey, rng = scan.grey.copy(), np.random.default_rng(1)
    for column in rng.integers(20, grey.shape[1] - 20, 12):
        inked = np.repeat(rng.random(len(grey) // 4 + 1) < 0.6, 4)[: len(grey)]
        grey[inked, column : column + 2] = 0.1
    assert score(find_holes(grey).positions_px, scan)[0] >= 0.985


def test_a_streak_is_a_line_of_blobs_that_only_each_other_vouch_for() -> None:
    rng = np.random.default_rng(1)
    strewn = rng.uniform(0, 900, (400, 2))
    streak = np.stack([rng.normal(500, 0.2, 40), np.linspace(5, 895, 40)], axis=1)
    column = np.stack([rng.normal(300, 0.2, 60), np.linspace(5, 895, 60)], axis=1)
    alone = np.repeat([True, True, False], [400, 40, 60])
    found = on_streaks(np.concatenate([strewn, streak, column]), alone=alone)
    assert found[400:440].mean() > 0.9
    assert not found[440:].any()
    assert found[:400].sum() <= 3


@pytest.mark.parametrize("axis", [0, 1])
def test_dashes_along_the_scan_are_no_holes(axis: int) -> None:
    """They are as wide and as dark as holes; each line of them has a rhythm of its own."""
    scan = scanned(winding_tape(), CLEAN)
    dashes = np.ones_like(np.moveaxis(scan.grey, axis, 0))
    for place, dash, every in ((20, 7, 14), (46, 40, 60), (58, 50, 70), (84, 12, 24)):
        dashes[-place - 6 : -place, np.arange(dashes.shape[1]) % every < dash] = 0.15
    dashes = np.moveaxis(ndimage.gaussian_filter(dashes, 1.0), 0, axis)
    f1, rms_um = score(find_holes(np.minimum(scan.grey, dashes)).positions_px, scan)
    assert f1 >= 0.97
    assert rms_um <= 19


def test_turning_the_picture_a_quarter_turns_the_holes() -> None:
    grey = scanned(strip(6), CLEAN).grey
    found = find_holes(grey).positions_px
    turned = find_holes(np.ascontiguousarray(np.rot90(grey))).positions_px
    back = np.stack([grey.shape[1] - 1 - turned[:, 1], turned[:, 0]], axis=1)
    pairs = matched(found, back, 0.5)
    assert len(pairs) >= 0.99 * max(len(found), len(back))
    np.testing.assert_allclose(found[pairs[:, 0]], back[pairs[:, 1]], atol=0.2)


def test_a_mirrored_picture_has_the_mirrored_holes() -> None:
    grey = scanned(strip(6), CLEAN).grey
    found = find_holes(grey).positions_px
    mirrored = find_holes(np.ascontiguousarray(grey[:, ::-1])).positions_px
    back = mirrored * (-1, 1) + (grey.shape[1] - 1, 0)
    pairs = matched(found, back, 0.5)
    assert len(pairs) >= 0.99 * max(len(found), len(back))


def test_twice_the_resolution_shows_the_same_holes() -> None:
    grey = scanned(strip(6), CLEAN).grey
    found = find_holes(grey).positions_px
    doubled = find_holes(np.kron(grey, np.ones((2, 2), dtype=np.float32))).positions_px
    pairs = matched(2 * found + 0.5, doubled, 1.0)
    assert len(pairs) >= 0.99 * max(len(found), len(doubled))


def test_holes_in_a_deep_shadow_are_found() -> None:
    scan = scanned(strip(6), CLEAN)
    half = scan.grey.shape[1] // 2
    shadow = np.interp(np.arange(scan.grey.shape[1]), [half - 40, half + 40], [1, 0.25])
    shaded = replace(scan, grey=(scan.grey * shadow).astype(np.float32))
    assert score(find_holes(shaded.grey).positions_px, shaded)[0] >= 0.985


def test_a_negative_has_the_same_holes_in_the_other_polarity() -> None:
    grey = scanned(strip(6), CLEAN).grey
    found, negative = find_holes(grey), find_holes(1 - grey)
    assert (found.polarity, negative.polarity) == ("dark", "light")
    pairs = matched(found.positions_px, negative.positions_px, 0.5)
    assert len(pairs) >= 0.99 * max(len(found.positions_px), len(negative.positions_px))


def test_a_paler_scan_has_the_same_holes() -> None:
    grey = scanned(strip(7), CLEAN).grey
    found, paler = find_holes(grey).positions_px, find_holes(0.6 + 0.3 * grey).positions_px
    pairs = matched(found, paler, 0.5)
    assert len(pairs) >= 0.99 * max(len(found), len(paler))


@pytest.mark.parametrize("mark", ["dot", "ring", "cross"])
def test_the_holes_of_the_reverse_that_show_through_are_not_taken(mark: Mark) -> None:
    look = Look(mark=mark, radius_mm=0.25 if mark == "dot" else 0.38)
    front, reverse = scanned(strip(3), look), scanned(strip(103, 2.2, 58.0), look)
    assert len(reverse.positions_px) > len(front.positions_px)
    behind = ndimage.gaussian_filter(1 - reverse.grey[:, ::-1], 0.8)
    grey = (front.grey * (1 - 0.4 * behind)).astype(np.float32)
    assert score(find_holes(grey).positions_px, front)[0] >= 0.985


def test_ink_that_fades_across_the_sheet_is_not_taken_for_the_reverse() -> None:
    scan = scanned(strip(3), CLEAN)
    full = np.linspace(1, 0.4, len(scan.grey))[:, None]
    bare = scan.grey.max()
    faded = replace(scan, grey=(bare - (bare - scan.grey) * full).astype(np.float32))
    assert score(find_holes(faded.grey).positions_px, faded)[0] >= 0.985


def test_a_cockled_sheet_keeps_its_holes() -> None:
    drawing = strip(8)
    x, y = drawing.holes_mm.T
    bent = np.stack([x + 1.5 * np.sin(y / 12), y * (1 + 0.03 * x / 80)], axis=1)
    scan = scanned(replace(drawing, holes_mm=bent, curves=()), CLEAN)
    assert score(find_holes(scan.grey).positions_px, scan)[0] >= 0.985


def test_a_tape_without_any_ground_is_found_by_its_rows() -> None:
    scan = scanned(winding_tape(), CLEAN)
    assert score(find_holes(scan.grey).positions_px, scan)[0] >= 0.97


def test_holes_on_and_beside_a_gimp_are_found() -> None:
    holes = net(60, 50, 3.0, 45.0) + 8
    column = 8 + 1.5 * np.arange(0, 36, 5)
    gimps = [Curve(np.array([[x, 4.0], [x, 62.0]]), 0.35, 0.9) for x in column]
    beside = [Curve(np.array([[x + 0.4, 4.0], [x + 0.4, 62.0]]), 0.3, 0.9) for x in column + 3]
    scan = scanned(Drawing((80.0, 70.0), holes, (*gimps, *beside)), CLEAN)
    on_gimp = np.abs((holes[:, 0] - 8) / 1.5 % 5) < 0.1
    assert on_gimp.sum() > 50
    assert score(find_holes(scan.grey).positions_px, scan)[0] >= 0.985


def test_numbers_beside_holes_are_not_taken_for_holes() -> None:
    holes = net(60, 50, 4.0, 45.0) + 8
    words = [
        Word(str(n), (float(x) + 0.2, float(y) + 1.1), 1.3, 1.0) for n, (x, y) in enumerate(holes)
    ]
    scan = scanned(Drawing((80.0, 70.0), holes, (), tuple(words)), CLEAN)
    found = find_holes(scan.grey).positions_px
    assert len(matched(found, scan.positions_px, 2.0)) >= 0.97 * len(holes)
    assert len(found) <= 1.03 * len(holes)


def test_a_hole_too_few_is_not_invented_and_one_too_many_is_found() -> None:
    holes = net(60, 50, 3.0, 45.0) + 8
    missing, extra = holes[[200, 310, 420]], holes[[150, 260, 370]] + [0.75, 0.8]
    faulty = np.concatenate([np.delete(holes, [200, 310, 420], axis=0), extra])
    scan = draw(Drawing((80.0, 70.0), faulty), CLEAN, np.random.default_rng(2), jitter_mm=0.0)
    found = find_holes(scan.grey).positions_px
    assert not len(matched(found, missing * scan.px_per_mm - 0.5, 3.0))
    assert len(matched(found, extra * scan.px_per_mm - 0.5, 1.0)) == 3


def test_the_confidence_is_lower_where_less_is_seen() -> None:
    drawing = strip(9)
    scan = scanned(drawing, Look(specks=1.0, noise=0.03))
    found = find_holes(scan.grey)
    assert found.confidence.shape == (len(found.positions_px),)
    assert np.all((found.confidence > 0.5) & (found.confidence <= 1))
    right = np.zeros(len(found.confidence), dtype=bool)
    right[matched(found.positions_px, scan.positions_px, 3.0)[:, 0]] = True
    assert np.median(found.confidence[right]) > 0.99


def test_holes_come_from_top_to_bottom() -> None:
    y = find_holes(scanned(strip(9), CLEAN).grey).positions_px[:, 1]
    assert np.all(np.diff(y) >= 0)


def words_only(seed: int) -> NDArray[np.float32]:
    rng = np.random.default_rng(seed)
    letters = list("abcdefghiklmnoprstuvw.:0123456789")
    lines = [
        Word("".join(rng.choice(letters, 40)), (40.0, 5.0 + 5 * n), 2.5, 1.0) for n in range(13)
    ]
    return draw(Drawing((80.0, 70.0), np.empty((0, 2)), (), tuple(lines)), CLEAN, rng).grey


NOT_PRICKINGS = {
    "a blank sheet": np.full((400, 300), 0.9, dtype=np.float32),
    "a shaded sheet": np.linspace(0, 1, 120_000, dtype=np.float32).reshape(400, 300),
    "noise": np.random.default_rng(4).normal(0.8, 0.05, (500, 400)).astype(np.float32),
    "one dot": draw(
        Drawing((30.0, 30.0), np.full((1, 2), 15.0)), CLEAN, np.random.default_rng(5)
    ).grey,
    "no numbers": np.full((100, 100), np.nan, dtype=np.float32),
    "infinite numbers": np.full((100, 100), np.inf, dtype=np.float32),
    "one pixel": np.zeros((1, 1), dtype=np.float32),
    "nothing": np.empty((0, 0), dtype=np.float32),
    "a line": np.zeros(50, dtype=np.float32),
    "colours": np.zeros((50, 50, 3), dtype=np.float32),
}


@pytest.mark.parametrize("name", NOT_PRICKINGS)
def test_what_shows_no_holes_gives_an_empty_result(name: str) -> None:
    found = find_holes(NOT_PRICKINGS[name])
    assert found.positions_px.shape == (0, 2)
    assert found.confidence.shape == (0,)


@pytest.mark.parametrize("seed", [3, 5, 7, 10])
def test_a_page_of_words_is_no_pricking(seed: int) -> None:
    assert not len(find_holes(words_only(seed)).positions_px)


@pytest.mark.parametrize("seed", range(12))
def test_no_picture_whatever_stops_the_search(seed: int) -> None:
    print(f"seed {seed}")
    rng = np.random.default_rng(seed)
    shape = tuple(rng.integers(16, 160, 2))
    coarse = rng.random(tuple(side // int(rng.integers(1, 12)) + 1 for side in shape))
    picture = np.kron(coarse, np.ones((12, 12)))[: shape[0], : shape[1]] ** rng.uniform(0.2, 9)
    found = find_holes(picture.astype(np.float32))
    assert found.positions_px.shape == (len(found.confidence), 2)
    assert np.isfinite(found.positions_px).all()
