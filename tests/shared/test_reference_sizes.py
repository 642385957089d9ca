"""The catalogue of known sizes."""

from __future__ import annotations

import re

import pytest

from shared.errors import FieldError, InputError
from shared.reference_sizes import (
    PROVENANCES,
    ReferenceSize,
    find_reference_size,
    mean_size_limit_mm,
    read_reference_sizes,
    search_reference_sizes,
)


def each_row(rows: list[ReferenceSize]) -> pytest.MarkDecorator:
    return pytest.mark.parametrize("row", rows, ids=lambda row: row.key)


ALL = list(read_reference_sizes())
WITH_RANGE = [row for row in ALL if row.range_mm]
WITH_JOINT = [row for row in ALL if row.gauge_mm and row.height_mm and row.joint_mm]


def test_catalogue_is_read_once_and_keys_are_unique() -> None:
    assert read_reference_sizes() is read_reference_sizes()
    keys = [key for row in read_reference_sizes() for key in (row.key, *row.aliases)]
    assert len(keys) == len(set(keys))


@each_row(ALL)
def test_row_can_be_found_by_key_and_alias(row: ReferenceSize) -> None:
    for key in (row.key, *row.aliases):
        assert find_reference_size(key) is row
        assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", key)


@each_row(ALL)
def test_row_names_source_region_and_provenance(row: ReferenceSize) -> None:
    assert row.provenance in PROVENANCES
    assert row.gauge_provenance in (None, *PROVENANCES)
    assert row.u_provenance.split(":")[0] in {"judgement", "computed", "from memory"}
    assert row.source
    assert row.region
    assert row.group


@each_row(ALL)
def test_row_holds_the_sizes_of_its_kind_each_with_its_u(row: ReferenceSize) -> None:
    needed = {
        "rectangle": [row.width_mm, row.height_mm],
        "length": [row.length_mm],
        "courses": [row.gauge_mm],
        "unit": [row.length_mm, row.height_mm],
    }[row.kind]
    assert None not in needed
    pairs = [
        (row.width_mm, row.u_width_mm),
        (row.height_mm, row.u_height_mm),
        (row.length_mm, row.u_length_mm),
        (row.gauge_mm, row.u_gauge_mm),
    ]
    for size_mm, u_mm in pairs:
        assert (size_mm is None) == (u_mm is None)
        if size_mm is not None and u_mm is not None:
            assert 0 < u_mm < 0.4 * size_mm


@each_row(ALL)
def test_door_or_window_says_plainly_which_outline_is_meant(row: ReferenceSize) -> None:
    word = {"leaf": "LEAF", "frame": "FRAME", "opening": "OPENING", "masonry": "OPENING"}
    if row.group in {"door", "window"}:
        assert word[row.part] in row.meant
    else:
        assert row.part == "object"


@each_row(WITH_RANGE)
def test_size_lies_within_its_own_range(row: ReferenceSize) -> None:
    size_mm = row.gauge_mm if row.kind == "courses" else row.length_mm
    assert size_mm is not None
    assert row.range_mm is not None
    assert row.range_mm[0] <= size_mm <= row.range_mm[1]


@each_row(WITH_JOINT)
def test_course_is_a_brick_and_its_joint(row: ReferenceSize) -> None:
    # US modular work is laid with a little more than the nominal 3/8 in.
    assert (row.height_mm or 0.0) + (row.joint_mm or 0.0) == pytest.approx(row.gauge_mm, rel=0.02)


def test_what_is_no_scale_reference_is_marked_and_says_why() -> None:
    marked = {row.key for row in read_reference_sizes() if not row.usable}
    assert marked == {
        "stone-ashlar",
        "stone-coursed-rubble",
        "stone-snecked-jumper",
        "uk-sash-opening-georgian",
        "uk-sash-opening",
        "uk-brick-tax-era",
        "us-stair-riser-most",
        "uk-sign-edge-verge",
    }
    for key in marked:
        assert find_reference_size(key).note


def test_what_stands_before_the_wall_is_marked() -> None:
    groups = {row.group for row in read_reference_sizes() if not row.in_wall_plane}
    assert groups == {
        "step",
        "kerb",
        "paving",
        "plate",
        "post box",
        "kiosk",
        "post",
        "sign",
        "person",
    }


@pytest.mark.parametrize(
    ("key", "width_mm", "height_mm", "u_mm"),
    [
        ("uk-door-leaf", 812.8, 2032.0, 6.0),
        ("uk-door-leaf-762x1981", 762.0, 1981.2, 6.0),
        ("uk-door-leaf-838x1981", 838.2, 1981.2, 6.0),
        ("uk-door-leaf-metric-826x2040", 826.0, 2040.0, 5.0),
        ("us-door-leaf-914x2032", 914.4, 2032.0, 6.0),
        ("de-door-leaf-rebated-860x1985", 860.0, 1985.0, 4.0),
        ("de-door-leaf-unrebated-834x1972", 834.0, 1972.0, 4.0),
        ("de-door-masonry-opening-885x2005", 885.0, 2005.0, 4.0),
        ("na-plate-12x6in", 304.8, 152.4, 1.0),
    ],
)
def test_door_or_plate_has_its_trade_size(
    key: str, width_mm: float, height_mm: float, u_mm: float
) -> None:
    row = find_reference_size(key)
    assert row.width_mm == pytest.approx(width_mm, abs=1e-9)
    assert row.height_mm == pytest.approx(height_mm, abs=1e-9)
    assert row.u_height_mm == u_mm


def test_metric_brick_has_size_joint_gauge_and_u() -> None:
    brick = find_reference_size("uk-brick")
    assert (brick.length_mm, brick.width_mm, brick.height_mm) == (215.0, 102.5, 65.0)
    assert (brick.joint_mm, brick.gauge_mm, brick.u_gauge_mm) == (10.0, 75.0, 0.6)


@pytest.mark.parametrize(
    ("key", "near"),
    [
        ("uk-door-leaf-762x1982", "uk-door-leaf-762x1981"),
        ("UK-Door-Leef", "uk-door-leaf"),
        ("uk-brick-metrik", "uk-brick-metric"),
    ],
)
def test_unknown_key_is_refused_in_one_sentence_with_near_matches(key: str, near: str) -> None:
    with pytest.raises(FieldError, match="catalogue of known sizes") as caught:
        find_reference_size(key)
    assert near in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("key", ["", "zzzzzzzz", "x" * 5000])
def test_key_near_to_nothing_is_refused_all_the_same(key: str) -> None:
    with pytest.raises(InputError, match="choose one from the catalogue"):
        find_reference_size(key)


def test_search_finds_rows_that_hold_every_word() -> None:
    keys = [row.key for row in search_reference_sizes("German DOOR leaf 860")]
    assert keys == ["de-door-leaf-rebated-860x1985", "de-door-leaf-rebated-860x2110"]
    assert search_reference_sizes("german kerb") == ()


def test_search_puts_rows_with_the_words_in_their_name_first() -> None:
    found = search_reference_sizes("opening")
    titles = ["opening" in f"{row.key} {row.name}" for row in found]
    assert titles == sorted(titles, reverse=True)
    assert True in titles
    assert False in titles


def test_search_without_words_gives_the_whole_catalogue() -> None:
    assert search_reference_sizes("  ") == read_reference_sizes()


def test_search_can_leave_out_what_is_no_scale_reference() -> None:
    everything = search_reference_sizes("stone")
    usable = search_reference_sizes("stone", usable_only=True)
    assert {row.key for row in everything} - {row.key for row in usable} == {
        "stone-ashlar",
        "stone-coursed-rubble",
        "stone-snecked-jumper",
    }


def test_search_by_kind_gives_only_rows_with_a_gauge() -> None:
    found = search_reference_sizes("", kind="courses", usable_only=True)
    assert all(row.gauge_mm is not None for row in found)
    assert "uk-brick-metric" in {row.key for row in found}
    assert "uk-brick-1571" not in {row.key for row in found}


@pytest.mark.parametrize("size_mm", [0.0, -65.0, float("nan"), float("inf")])
def test_limit_of_no_size_is_a_wrong_call(size_mm: float) -> None:
    with pytest.raises(ValueError, match="work_size_mm"):
        mean_size_limit_mm(size_mm, "T1")
