"""Feed mutated files to the program: each must be taken soundly or refused in one sentence.

Every input is made from a seed and its number, so that one can be looked at again. Inputs
are tried in a child process with bounded memory; one that takes more than five seconds of
processor time kills the child and is found out, as is one that crashes a decoder.
"""

from __future__ import annotations

import functools
import json
import mmap
import os
import resource
import signal
import tempfile
import traceback
import warnings
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from measure.elevation.build import make_elevation
from measure.evaluate import evaluate
from measure.parts.build_order import build_order_text
from measure.parts.card_plan import plan_survey
from measure.parts.part_sheets import lay_parts
from measure.parts.printer import correction_from_bars
from measure.results import Results, json_from_results
from measure.survey_job import SurveyJob
from rectify.photos.file import read_photo
from rectify.solution import PhotoFacts
from shared.card_wishes import CardWishes
from shared.errors import StoreyrodError
from shared.survey import Survey
from shared.survey_file import parse_survey
from shared.survey_text import format_survey
from tests.support.maltings_card import make_maltings_wishes, maltings_job
from tests.support.mutations import json_bytes, mutated_bytes, mutated_json
from tests.support.photo_makers import (
    FORMATS,
    make_asymmetric_picture,
    make_exif,
    write_picture,
)
from tests.support.street_survey import street_survey
from tests.support.surveys import make_plain_survey

MOST_S, MOST_BYTES = 5.0, 3 * 2**30
MOST_SENTENCE = 700
DEMO = Path(__file__).resolve().parents[2] / "fixtures" / "demo" / "pennywhistle.survey.json"

Try = Callable[[int, Path], str]


def refused(refusal: StoreyrodError) -> str:
    """Check that a refusal is one line with an end, and give what it counts as."""
    said = str(refusal)
    if "\n" in said or not said.rstrip().endswith((".", "?", "!")) or len(said) > MOST_SENTENCE:
        raise AssertionError(f"not a sentence: {said!r}")
    return f"refused, {refusal.code}"


@functools.cache
def sound_photos() -> tuple[tuple[str, bytes], ...]:
    """One small photo of each format, as bytes with its suffix."""
    made = []
    exif = make_exif(6, xA405=26, x010F="Kerbside", x9003="2024:05:17 10:30:00")
    with tempfile.TemporaryDirectory() as folder:
        for suffix, save, _ in FORMATS.values():
            path = Path(folder) / f"a{suffix}"
            write_picture(path, make_asymmetric_picture(), exif, **save)
            made.append((suffix, path.read_bytes()))
    return tuple(made)


def try_photo(number: int, folder: Path) -> str:
    """Read one mutated photo."""
    rng = np.random.default_rng([1, number])
    photos = sound_photos()
    suffix, content = photos[int(rng.integers(len(photos)))]
    path = folder / f"fuzzed{suffix}"
    path.write_bytes(mutated_bytes(content, rng))
    try:
        photo = read_photo(path, max_megapixels=1.0)
    except StoreyrodError as refusal:
        return refused(refusal)
    shape = photo.pixels.shape
    if shape != (photo.height_px, photo.width_px, 3) or photo.pixels.dtype != np.uint8:
        raise AssertionError(f"a photo of shape {shape}")
    return "taken"


@functools.cache
def sound_surveys() -> tuple[str, ...]:
    """JSON of surveys: the demo, a small street with wishes, a front with a wing and a tower."""
    demo = json.loads(DEMO.read_text(encoding="utf-8"))
    street = street_survey()
    street["faces"][0]["drawing"] = {
        "completions": [{"kind": "mirror", "of": ["w1"]}],
        "details": [
            {"kind": "string-course", "foot": "h1", "head": 2500},
            {"kind": "sills", "of": ["w1", "w2"]},
            {"kind": "course-lines", "measure": "c1", "bond": "flemish"},
        ],
        "together": [{"what": "sill", "of": ["w1", "w2"]}],
        "plot": {"width_mm": 60, "choice": "narrow-piers"},
    }
    street["card"] = {
        "faces": ["front"],
        "tabs": True,
        "by_face": {"front": {**demo["card"]["by_face"]["front"], "openings": {}}},
    }
    return tuple(json.dumps(each) for each in (street, make_plain_survey(), demo))


def try_survey(number: int, folder: Path) -> str:
    """Read one mutated survey; measure, draw and cut some of those that are taken."""
    rng = np.random.default_rng([2, number])
    surveys = sound_surveys()
    text = surveys[int(rng.integers(len(surveys)))]
    if rng.random() < 0.25:
        content = mutated_bytes(text.encode(), rng)
    else:
        content = json_bytes(mutated_json(json.loads(text), rng))
    try:
        survey = parse_survey(content, "The survey")
    except StoreyrodError as refusal:
        return refused(refusal)
    again = parse_survey(format_survey(survey).encode(), "The survey")
    if again != survey:
        raise AssertionError("another survey came back from its own text")
    if rng.random() < 0.9 or len(survey.faces) > 3:
        return "taken"
    return f"measured: {use_survey(survey, folder)}"


@functools.cache
def measurable_surveys() -> tuple[str, ...]:
    """JSON of surveys that can be measured, drawn and cut: the street, parts of the demo."""
    demo = json.loads(DEMO.read_text(encoding="utf-8"))
    parts = []
    for names in (("front", "wing"), ("front-kiln", "tower")):
        faces = [face for face in demo["faces"] if face["id"] in names]
        photos = [photo for photo in demo["photos"] if photo["id"] == faces[0]["photo"]]
        parts.append({**demo, "faces": faces, "photos": photos, "card": None})
    return (sound_surveys()[0], *(json.dumps(part) for part in parts))


def try_picks(number: int, folder: Path) -> str:
    """Measure, draw and cut a survey whose picks and sizes were mutated."""
    rng = np.random.default_rng([3, number])
    surveys = measurable_surveys()
    # the street is the quickest by far
    text = surveys[int(rng.choice(3, p=[0.9, 0.05, 0.05]))]
    document = json.loads(text)
    document["faces"] = mutated_json(document["faces"], rng)
    try:
        survey = parse_survey(json_bytes(document), "The survey")
    except StoreyrodError as refusal:
        return refused(refusal)
    return f"measured: {use_survey(survey, folder)}"


def try_card(number: int, folder: Path) -> str:
    """Plan the demo's parts with mutated wishes, and lay some of them on sheets."""
    rng = np.random.default_rng([4, number])
    job = maltings_job()
    card = json.loads(make_maltings_wishes().model_dump_json())
    document = {"card": mutated_json(card, rng)}
    whole = json.loads(DEMO.read_text(encoding="utf-8"))
    try:
        survey = parse_survey(json_bytes({**whole, **document}), "The survey")
        wishes = survey.card or CardWishes()
        plan = plan_survey(SurveyJob(survey, job.path), job.measure(), wishes)
        if rng.random() < 0.2:
            lay_parts(plan, correction_from_bars(wishes.printed_bars))
            build_order_text(plan)
            return "laid on sheets"
    except StoreyrodError as refusal:
        return refused(refusal)
    return "planned"


def try_drawing(number: int, folder: Path) -> str:
    """Draw the demo's front with mutated wishes."""
    rng = np.random.default_rng([5, number])
    results = maltings_job().measure()
    whole = json.loads(DEMO.read_text(encoding="utf-8"))
    front = next(face for face in whole["faces"] if face["id"] == "front")
    drawing = front.get("drawing") or json.loads(sound_surveys()[0])["faces"][0]["drawing"]
    front["drawing"] = mutated_json(drawing, rng)
    try:
        survey = parse_survey(json_bytes(whole), "The survey")
        face = next(each for each in survey.faces if each.id == "front")
        solution = results.photos[face.photo].solution
        make_elevation(survey, face, results.faces["front"], solution, results.denominator)
    except StoreyrodError as refusal:
        return refused(refusal)
    return "drawn"


def use_survey(survey: Survey, folder: Path) -> str:
    """Measure a survey, draw its faces and plan its parts, its photos taken as known."""
    facts = {
        photo.id: PhotoFacts(
            photo.id, photo.width_px or 1000, photo.height_px or 750, photo.focal_35mm,
            cropped=photo.cropped,
        )
        for photo in survey.photos
    }  # fmt: skip
    try:
        results = evaluate(survey, facts, stop_at_problem=False)
    except StoreyrodError as refusal:
        return refused(refusal)
    check_sound(results)
    try:
        for face in survey.faces:
            solution = results.photos[face.photo].solution
            result = results.faces[face.id]
            make_elevation(survey, face, result, solution, results.denominator)
        job = SurveyJob(survey, folder / "fuzzed.survey.json")
        plan_survey(job, results, survey.card or CardWishes())
    except StoreyrodError as refusal:
        return refused(refusal)
    return "taken"


def check_sound(results: Results) -> None:
    """Every number that is given out is a number, and no ± is negative."""
    told = json.loads(json.dumps(json_from_results(results), allow_nan=False))
    for face in told["faces"].values():
        for measure in face["measures"].values():
            for key, value in measure.items():
                if key.startswith("u_") and isinstance(value, (int, float)) and value < 0:
                    raise AssertionError(f"{key} is {value}")


KINDS: dict[str, Try] = {
    "photo": try_photo,
    "survey": try_survey,
    "picks": try_picks,
    "card": try_card,
    "drawing": try_drawing,
}


@dataclass
class Found:
    """What became of many inputs; the peak is of memory beyond what a child inherited."""

    outcomes: Counter[str] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)
    peak_mb: float = 0.0

    def with_fault(self, kind: str, number: int, what: str) -> None:
        """Keep a fault, with the number that brings it back."""
        self.faults.append(f"{kind} {number}: {what}")


def feed(kind: str, first: int, count: int) -> Found:
    """Try inputs ``first`` to ``first + count``, each batch in a child of its own."""
    found = Found()
    at = first
    while at < first + count:
        at = _feed_in_child(kind, at, first + count, found)
    return found


def held_mb() -> float:
    """Memory of its own that this process holds, which a child inherits."""
    status = Path("/proc/self/status").read_text(encoding="ascii")
    return next(int(line.split()[1]) for line in status.splitlines() if "RssAnon" in line) / 1024.0


def _feed_in_child(kind: str, first: int, end: int, found: Found) -> int:
    """Try inputs until the end or until the child dies; give the next number to try."""
    current = mmap.mmap(-1, 8)
    reading, writing = os.pipe()
    inherited_mb = held_mb()
    child = os.fork()
    if child == 0:
        os.close(reading)
        _child(kind, first, end, current, writing)
    os.close(writing)
    with os.fdopen(reading, "rb") as stream:
        told = stream.read()
    _, status, usage = os.wait4(child, 0)
    found.peak_mb = max(found.peak_mb, usage.ru_maxrss / 1024.0 - inherited_mb)
    for line in told.decode().splitlines():
        number, outcome, fault = json.loads(line)
        found.outcomes[outcome] += 1
        if fault:
            found.with_fault(kind, number, fault)
    number = int.from_bytes(current[:8], "little")
    if os.WIFSIGNALED(status):
        name = signal.Signals(os.WTERMSIG(status)).name
        why = f"more than {MOST_S:g} s" if name == "SIGPROF" else f"killed by {name}"
        found.with_fault(kind, number, why)
        found.outcomes["died"] += 1
        return number + 1
    return end


def _child(kind: str, first: int, end: int, current: mmap.mmap, writing: int) -> None:
    """Try inputs one after the other and tell of each; never returns."""
    resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES, MOST_BYTES))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    os.dup2(os.open(os.devnull, os.O_WRONLY), 2)  # decoders in C complain there
    warnings.simplefilter("ignore")  # a number that is none is found in the result
    try_one = KINDS[kind]
    with tempfile.TemporaryDirectory() as name, os.fdopen(writing, "wb") as stream:
        for number in range(first, end):
            current[:8] = number.to_bytes(8, "little")
            signal.setitimer(signal.ITIMER_PROF, MOST_S)
            fault = ""
            try:
                outcome = try_one(number, Path(name))
            except BaseException:  # anything that is no refusal is a fault, whatever it is
                outcome, fault = "fault", traceback.format_exc(limit=-4)
            signal.setitimer(signal.ITIMER_PROF, 0.0)
            stream.write(json.dumps([number, outcome, fault]).encode() + b"\n")
            stream.flush()
    os._exit(0)


def merged(parts: list[Found]) -> Found:
    """Several findings as one."""
    whole = Found()
    for part in parts:
        whole.outcomes.update(part.outcomes)
        whole.faults += part.faults
        whole.peak_mb = max(whole.peak_mb, part.peak_mb)
    return replace(whole)
