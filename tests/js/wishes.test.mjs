import assert from "node:assert/strict";
import { test } from "node:test";
import { addWish, changeWish, makeWish, removeWish, setDrawing, ticked, withOneAxis, wishName } from "../../measure/workbench/static/js/edits/wishes.js";
import { COMPLETIONS, DETAILS, levelNames, openingsOf, plotWith } from "../../measure/workbench/static/js/wishes_spec.js";

const front = {
  id: "front", drawing: null,
  measures: [
    { id: "w1", kind: "opening", label: "Window", at: [[0, 0], [10, 0], [10, 9], [0, 9]] },
    { id: "d1", kind: "opening", label: "Street door", at: [[40, 0], [52, 0], [52, 20], [40, 20]] },
    { id: "h1", kind: "level", label: "Eaves" }, { id: "c1", kind: "courses", label: "" },
  ],
};
const doc = Object.freeze({ faces: [front] });

test("every wish begins with a value for each of its fields that has no empty state", () => {
  for (const [list, specs] of Object.entries({ details: DETAILS, completions: COMPLETIONS })) {
    for (const [kind, spec] of Object.entries(specs)) {
      const wish = makeWish(front, list, kind, [10, 20]);
      assert.equal(wish.kind, kind);
      for (const field of spec.fields) assert.ok(field.key in wish, `${kind}.${field.key}`);
      for (const field of spec.fields.filter((one) => one.least && one.type === "openings")) assert.ok(wish[field.key].length >= field.least, kind);
    }
  }
});

test("door panels begin at the door, course lines at the measured courses", () => {
  assert.deepEqual(makeWish(front, "details", "door-panels", null).of, ["d1"]);
  const lines = makeWish(front, "details", "course-lines", null);
  assert.deepEqual([lines.measure, lines.gauge_mm], ["c1", null]);
});

test("what wants an opening or a place is not made without", () => {
  assert.equal(makeWish({ ...front, measures: [] }, "details", "sills", null), null);
  assert.equal(makeWish(front, "completions", "copy", null), null);
  assert.deepEqual(makeWish(front, "completions", "copy", [1, 2]).at, [1, 2]);
});

test("wishes are added, changed and removed, and the face's picks stay the same object", () => {
  const added = addWish(doc, "front", "details", makeWish(front, "details", "plinth", null));
  assert.equal(added.faces[0].measures, front.measures);
  const changed = changeWish(added, "front", "details", 0, { head: "h1" });
  assert.equal(changed.faces[0].drawing.details[0].head, "h1");
  assert.deepEqual(removeWish(changed, "front", "details", 0).faces[0].drawing.details, []);
  assert.equal(setDrawing(doc, "front", "tidy", false).faces[0].drawing.tidy, false);
  assert.equal(doc.faces[0].drawing, null);
});

test("levels go by names, and ticks keep the least", () => {
  assert.deepEqual(levelNames(front).map((one) => one.id), ["w1.sill", "w1.head", "d1.sill", "d1.head", "h1"]);
  assert.deepEqual(openingsOf(front).map((one) => one.label), ["Window", "Street door"]);
  assert.deepEqual(ticked(["w1"], "w1", false, 1), ["w1"]);
  assert.deepEqual(ticked(["w1"], "d1", true, 1), ["w1", "d1"]);
  assert.deepEqual(ticked(["w1"], "w1", false, 0), []);
  // an axis stands through one opening or midway of two: a third takes the place of the first
  assert.deepEqual(ticked(["w1", "d1"], "w9", true, 0, 2), ["d1", "w9"]);
});

test("an axis begins at the opening nearest the middle", () => {
  const third = { id: "w9", kind: "opening", label: "", at: [[90, 0], [100, 0]] };
  assert.deepEqual(makeWish({ ...front, measures: [...front.measures, third] }, "completions", "mirror", null).axis_of, ["d1"]);
});

test("a wish is listed by what it is and of which openings", () => {
  assert.equal(wishName(front, "completions", { kind: "copy", of: "d1", at: [1, 2] }), "Copy an opening: Street door");
  assert.equal(wishName(front, "details", { kind: "sills", of: ["w1", "d1", "w9"] }), "Sills: Window, Street door and 1 more");
  assert.equal(wishName(front, "details", { kind: "sills", of: [] }), "Sills");
});

test("an axis is given one way: what was said of it another way goes", () => {
  assert.deepEqual(withOneAxis({ axis_mm: 6450 }), { axis_of: [], axis_at: null, axis_mm: 6450 });
  assert.deepEqual(withOneAxis({ axis_of: ["d1"] }), { axis_mm: null, axis_at: null, axis_of: ["d1"] });
  assert.deepEqual(withOneAxis({ axis_at: [10, 20] }), { axis_of: [], axis_mm: null, axis_at: [10, 20] });
  assert.deepEqual(withOneAxis({ axis_of: [] }), { axis_of: [] });
  assert.deepEqual(withOneAxis({ count: 2 }), { count: 2 });
});

test("a plot that all is made smaller for does not insist on true doors; other ways do", () => {
  const plot = plotWith(null, { width_mm: 60 });
  assert.deepEqual(plot, { width_mm: 60, height_mm: null, choice: "reduce", keep_true: false });
  assert.equal(plotWith(plot, { choice: "fewer-bays" }).keep_true, true);
  assert.equal(plotWith(plot, { width_mm: null }), null);
});
