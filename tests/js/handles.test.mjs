import assert from "node:assert/strict";
import { test } from "node:test";
import { axisName, axisTo, bayBox, bayTo, bayUpTo, chosenWith, counting, deedName, firstAxis, firstBay, handleSpots, inRows, nextOf, offerSentence, openingAt, spacings, wishOf } from "../../measure/workbench/static/js/edits/handles.js";

// a door in the middle of a wall of 10 m whose left edge is at 500, a window at its left, one above at the right
const told = {
  origin_mm: 500, wall_mm: [500, 0, 10500, 6000], spacing_mm: 2000, paths: null,
  openings: [
    { id: "w1", label: "Window", box_mm: [1500, 900, 2500, 2400], inferred: false },
    { id: "d1", label: "Street door", box_mm: [5000, 0, 6000, 2600], inferred: false },
    { id: "f1", label: "Light", box_mm: [5200, 2000, 5800, 2500], inferred: false },
    { id: "w1@bay1", label: "bay 1 of Window", box_mm: [7500, 3900, 8500, 5400], inferred: true },
  ],
  axes: [
    { what: "opening", at_mm: 2000, says: { axis_of: ["w1"] } },
    { what: "opening", at_mm: 5500, says: { axis_of: ["d1"] } },
    { what: "opening", at_mm: 8000, says: { axis_of: ["w1@bay1"] } },
    { what: "between", at_mm: 3750, says: { axis_of: ["w1", "d1"] } },
    { what: "found", at_mm: 5510, says: {} },
    { what: "middle", at_mm: 5480, says: { axis_mm: 4980 } },
  ],
};
const axis = { kind: "axis", does: "mirror", at_mm: 5000, onto: null };
const bay = { kind: "bay", side: "right", along_mm: 2500, count: 1, onto: null };
const trial = (n) => ({ offered: [], notes: [], made: Array.from({ length: n }, (_, i) => ({ id: `x${i}`, box_mm: [] })) });

test("a click chooses the opening under it, the smallest where one stands in another", () => {
  assert.equal(openingAt(told, [5500, 2200], 0)?.id, "f1");
  assert.equal(openingAt(told, [5100, 100], 0)?.id, "d1");
  assert.equal(openingAt(told, [4990, 100], 20)?.id, "d1");
  assert.equal(openingAt(told, [4000, 100], 20), null);
});

test("with shift one more is chosen, or one less", () => {
  assert.deepEqual(chosenWith(["w1"], "d1", false), ["d1"]);
  assert.deepEqual(chosenWith(["w1"], "d1", true), ["w1", "d1"]);
  assert.deepEqual(chosenWith(["w1", "d1"], "w1", true), ["d1"]);
  assert.deepEqual(chosenWith(["w1"], null, false), []);
  assert.deepEqual(bayBox(told, ["w1", "d1"]), [1500, 0, 6000, 2600]);
});

test("an axis is drawn to what is near and keeps what it stands on, not only where", () => {
  const onto = axisTo(axis, told, 5530, 60);
  assert.deepEqual(wishOf(onto, ["w1"], told), { kind: "mirror", of: ["w1"], axis_of: [] });
  assert.deepEqual(wishOf(axisTo(axis, told, 3700, 60), ["w1"], told), { kind: "mirror", of: ["w1"], axis_of: ["w1", "d1"] });
  assert.deepEqual(wishOf(axisTo(axis, told, 3700.04, 0), ["w1"], told), { kind: "mirror", of: ["w1"], axis_of: [], axis_mm: 3200 });
  assert.deepEqual(wishOf({ ...axisTo(axis, told, 5470, 60), does: "left" }, [], told), { kind: "half", keep: "left", axis_of: [], axis_mm: 4980 });
});

test("the next axis lies beyond the place, the nearer first", () => {
  const at = (one) => one.at_mm;
  assert.equal(nextOf(told.axes, at, 3750, 1)?.at_mm, 5480);
  assert.equal(nextOf(told.axes, at, 3750, -1)?.at_mm, 2000);
  assert.equal(nextOf(told.axes, at, 8000, 1), null);
  assert.equal(firstAxis(told).what, "found");
  assert.equal(firstAxis({ ...told, axes: told.axes.filter((one) => one.what !== "found") }).what, "middle");
});

test("the first copy is drawn to the spacing measured and over other openings, on its side only", () => {
  assert.deepEqual(spacings(told, ["w1"], 1).map((one) => one.spacing_mm), [2000, 3500, 6000]);
  assert.deepEqual(spacings(told, ["d1"], -1).map((one) => one.spacing_mm), [2000, 3500]);
  const measured = bayTo(bay, told, ["w1"], 1980, 30);
  assert.equal(wishOf(measured, ["w1"], told).spacing_mm, null);
  const over = bayTo(bay, told, ["d1"], -3490, 30);
  assert.deepEqual([over.along_mm, wishOf(over, ["d1"], told).spacing_mm, wishOf(over, ["d1"], told).towards], [-3500, 3500, "left"]);
  assert.deepEqual(wishOf(bayTo(bay, told, ["w1"], 2345.67, 0), ["w1"], told), { kind: "repeat", of: ["w1"], count: 1, spacing_mm: 2346, towards: "right", push: false });
});

test("copies are counted by how far the last one is carried, and by keys", () => {
  assert.equal(bayUpTo(bay, 7400).count, 3);
  assert.equal(bayUpTo({ ...bay, along_mm: -2500 }, -5100).count, 2);
  assert.equal(bayUpTo(bay, 900).count, 0);
  assert.equal(bayUpTo(bay, -4000).count, 0);
  assert.equal(counting(bay, 1).count, 2);
  assert.equal(counting(bay, -5).count, 0);
  assert.equal(bayUpTo(bay, 1e9).count, 200);
  assert.equal(wishOf(counting(bay, -1), ["w1"], told).count, 1);
});

test("without a pointer a bay begins at the spacing measured, else half its width apart", () => {
  assert.equal(firstBay(told, ["w1"], "left").along_mm, -2000);
  const bare = { ...told, spacing_mm: null };
  assert.deepEqual(firstBay(bare, ["w1"], "right"), { kind: "bay", side: "right", along_mm: 1500, count: 1, onto: null });
});

test("undo and the sentence say what is made, of what, about what", () => {
  assert.equal(deedName(axis, ["w1"], told), "mirror Window");
  assert.equal(deedName(axis, ["w1", "d1"], told), "mirror 2 openings");
  assert.equal(deedName({ ...axis, does: "left" }, [], told), "restore the right half");
  assert.equal(deedName(bay, ["w1@bay1"], told), "repeat bay 1 of Window");
  assert.equal(axisName(told.axes[3], told), "midway between Window and Street door");
  assert.equal(offerSentence(axisTo(axis, told, 2000, 9), ["d1"], told, trial(1), "mm"), "1 opening mirrored about the centre line of Window.");
  assert.match(offerSentence({ ...bay, count: 3 }, ["w1"], told, trial(3), "mm"), /^Window 3 times more, every 2.500.mm to the right: 3 openings new\.$/);
  assert.match(offerSentence(firstBay(told, ["d1"], "left"), ["d1"], told, trial(1), "m"), /^Street door once more, 2\.000.m to the left, as measured: 1 opening new\.$/);
  assert.match(offerSentence({ ...axis, does: "right" }, [], told, null, "m"), /^The left half as the mirror of the right, about 4\.500.m from the left edge\.$/);
});

test("a long sentence goes into rows, a long word stays whole", () => {
  assert.deepEqual(inRows("the axis lies outside", 9), ["the axis", "lies", "outside"]);
  assert.deepEqual(inRows("incomprehensible wall", 5), ["incomprehensible", "wall"]);
});

test("handles stand beside what is chosen, and go with the copies of a bay in hand", () => {
  const view = { scale: 0.1, dx: 0, dy: 700 };
  const size = { width: 1200, height: 800 };
  const at = (of, held) => Object.fromEntries(handleSpots(told, of, held, view, size).map((spot) => [spot.which, spot.at]));
  assert.deepEqual(at([], null), { axis: [551, 76] });
  // the window runs from 150 to 250 across and from 460 to 610 down
  assert.deepEqual(at(["w1"], null), { axis: [551, 76], left: [126, 535], right: [274, 535] });
  assert.deepEqual(at(["w1"], { ...bay, count: 3 }), { right: [524, 535], count: [950, 436] });
  assert.deepEqual(at(["w1"], axis), { axis: [500, 76] });
  // the axis keeps clear of the buttons of a sheet whose wall runs off it
  assert.deepEqual(handleSpots(told, [], null, { ...view, dy: 100 }, size)[0].at, [551, 60]);
});
