import assert from "node:assert/strict";
import { test } from "node:test";
import { setCard } from "../../measure/workbench/static/js/edits/card.js";
import { drawnIn, faultOf, leaveOut, letAllGo, letGo, onlyLayingDiffers, pinAll, pinPart, putBack, sheetsOf, shifted, sizeOf, tooNear, turnedOn } from "../../measure/workbench/static/js/edits/pins.js";

const ring = (w, h) => [[0, 0], [w, 0], [w, h], [0, h], [0, 0]];
const part = (mark, w, h, x, y, more = {}) => ({ mark, copy_number: 1, name: mark, left_mm: x, bottom_mm: y, quarters: 0, turns: [0, 1, 2, 3], pinned: true, outline_mm: [ring(w, h)], ...more });
const sheet = (parts, number = 1) => ({ name: `Sheet ${number}: card`, material: "card", number, paper_mm: [210, 297], area_mm: [19, 40, 100, 140], parts, marks: [], svg: "" });
const doc = Object.freeze({ faces: [], card: null });

test("a part may lie two millimetres from a pinned one and no nearer", () => {
  const on = sheet([part("A1", 20, 20, 0, 0)]);
  assert.equal(faultOf(part("B1", 10, 10, 22, 5), on, 2), "");
  assert.match(faultOf(part("B1", 10, 10, 21, 5), on, 2), /^B1 lies on A1, or less than 2 mm/);
});

test("a part inside another is too near though no lines cross", () => {
  assert.ok(tooNear([ring(50, 50)], [ring(10, 10).map(([x, y]) => [x + 20, y + 20])], 2));
  assert.ok(tooNear([ring(10, 10).map(([x, y]) => [x + 20, y + 20])], [ring(50, 50)], 2));
});

test("a part beside a slope is measured from the slope, not from its box", () => {
  const gable = part("A1", 40, 40, 0, 0, { outline_mm: [[[0, 0], [40, 0], [0, 40], [0, 0]]] });
  // the corner at (30, 30) is 20 / sqrt(2) = 14.1 mm off the slope
  assert.equal(faultOf(part("B1", 10, 10, 30, 30), sheet([gable]), 14), "");
  assert.notEqual(faultOf(part("B1", 10, 10, 30, 30), sheet([gable]), 15), "");
});

test("loose parts make way, and a part is not in its own way", () => {
  const on = sheet([part("A1", 20, 20, 0, 0, { pinned: false }), part("B1", 10, 10, 50, 50)]);
  assert.equal(faultOf(part("B1", 10, 10, 5, 5), on, 2), "");
  assert.equal(faultOf(part("B1", 10, 10, 51, 51), on, 2), "");
});

test("a part beyond the margin is named, one a little over is drawn back", () => {
  const far = part("A1", 20, 20, 85, 0);
  assert.match(faultOf(far, sheet([]), 2), /beyond the margin/);
  assert.equal(drawnIn(far, sheet([])).left_mm, 85);
});

test("a little over the margin is on the margin", () => {
  const near = drawnIn(part("A1", 20, 20, 81, -1), sheet([]));
  assert.deepEqual([near.left_mm, near.bottom_mm], [80, 0]);
});

test("turning keeps to the turns that the grain allows and to the middle of the part", () => {
  const any = turnedOn(part("A1", 20, 10, 30, 40));
  assert.equal(any.quarters, 1);
  assert.deepEqual(sizeOf(any), { width: 10, height: 20 });
  assert.deepEqual([any.left_mm, any.bottom_mm], [35, 35]);
  const grained = turnedOn(part("A1", 20, 10, 30, 40, { turns: [0, 2] }));
  assert.equal(grained.quarters, 2);
  assert.deepEqual([sizeOf(grained).width, grained.left_mm], [20, 30]);
});

test("four turns bring a part back to where it was", () => {
  const start = part("A1", 20, 10, 30, 40, { outline_mm: [[[0, 0], [20, 0], [0, 10], [0, 0]]] });
  const back = turnedOn(turnedOn(turnedOn(turnedOn(start))));
  assert.deepEqual(back, start);
});

test("a part is pinned once, moved when pinned again, and let go", () => {
  const one = pinPart(doc, part("A1", 5, 5, 1.23456, 2), 1);
  assert.deepEqual(one.card.pinned, [{ mark: "A1", copy_number: 1, sheet: 1, left_mm: 1.235, bottom_mm: 2, quarters: 0 }]);
  const moved = pinPart(one, shifted(part("A1", 5, 5, 1, 2), 10, 0), 2);
  assert.deepEqual(moved.card.pinned.map((pin) => [pin.sheet, pin.left_mm]), [[2, 11]]);
  assert.deepEqual(letGo(moved, { mark: "A1", copy_number: 1 }).card.pinned, []);
  assert.equal(letGo(moved, { mark: "B1", copy_number: 1 }), moved);
});

test("all parts can be kept where they lie and all let go; with none kept nothing changes", () => {
  const all = pinAll(doc, [{ name: "Put together", parts: [] }, sheet([part("A1", 5, 5, 0, 0), part("A1", 5, 5, 9, 0, { copy_number: 2 })]), sheet([part("B1", 5, 5, 0, 0)], 2)]);
  assert.deepEqual(all.card.pinned.map((pin) => [pin.mark, pin.copy_number, pin.sheet]), [["A1", 1, 1], ["A1", 2, 1], ["B1", 1, 2]]);
  assert.equal(letAllGo(doc), doc);
  assert.deepEqual(letAllGo(all).card.pinned, []);
});

test("a further sheet of the same material comes after the last", () => {
  const own = sheetsOf([sheet([]), { ...sheet([]), material: "paper" }, sheet([], 3)], "card");
  assert.deepEqual(own.map((one) => one.number), [1, 3, 4]);
  assert.equal(own[2].parts.length, 0);
});

test("a change of pins alone is told from any other", () => {
  const pinned = pinPart(doc, part("A1", 5, 5, 0, 0), 1);
  assert.ok(onlyLayingDiffers(doc, pinned));
  assert.ok(!onlyLayingDiffers(doc, setCard(pinned, "corner", "butt")));
  assert.ok(!onlyLayingDiffers(doc, doc));
});

test("a part left out loses its place, later copies keep theirs, and putting it back empties the list", () => {
  const pinned = pinPart(pinPart(doc, part("S1", 5, 5, 0, 0), 1), part("S1", 5, 5, 9, 0, { copy_number: 2 }), 1);
  const once = leaveOut(pinned, { mark: "S1", copy_number: 1 });
  assert.deepEqual(once.card.left_out, [{ mark: "S1", copies: 1 }]);
  assert.deepEqual(once.card.pinned.map((pin) => [pin.copy_number, pin.left_mm]), [[1, 9]]);
  assert.deepEqual(leaveOut(once, { mark: "S1", copy_number: 1 }).card.left_out, [{ mark: "S1", copies: 2 }]);
  assert.deepEqual(putBack(once, "S1").card.left_out ?? [], []);
  assert.ok(onlyLayingDiffers(pinned, once));
});
