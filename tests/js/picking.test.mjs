import assert from "node:assert/strict";
import { test } from "node:test";
import { MEASURES } from "../../measure/workbench/static/js/kinds.js";
import * as run from "../../measure/workbench/static/js/pick_sequence.js";
import * as loupe from "../../measure/workbench/static/js/loupe_place.js";
import * as keys from "../../measure/workbench/static/js/keys.js";
import * as geometry from "../../measure/workbench/static/js/geometry.js";
import { marksOf } from "../../measure/workbench/static/js/marks.js";

test("an opening ends by itself at the fourth pick", () => {
  let r = run.startRun("measures", "opening");
  for (let i = 0; i < 4; i += 1) r = run.takePick(r, [i, i]);
  assert.ok(run.isFull(r));
  assert.equal(run.takePick(r, [9, 9]), r);
});

test("a row may end from its second pick and says so", () => {
  let r = run.takePick(run.startRun("measures", "spacing"), [0, 0]);
  assert.ok(!run.mayEnd(r));
  r = run.takePick(r, [1, 0]);
  assert.ok(run.mayEnd(r) && !run.isFull(r));
  assert.match(run.runSentence(r), /Enter when done/);
});

test("giving back a pick that is not there changes nothing", () => {
  const r = run.startRun("frame", "");
  assert.equal(run.giveBackPick(r), r);
});

test("every kind asks for something at every pick", () => {
  for (const kind of Object.keys(MEASURES)) {
    const r = run.startRun("measures", kind);
    assert.ok(run.asked(r).length > 3, kind);
    assert.ok(r.spec.least >= 1 && r.spec.most >= r.spec.least, kind);
  }
});

test("the loupe is a third of the sheet and never under the pointer", () => {
  const sheet = { width: 700, height: 600 };
  for (const point of [[10, 10], [690, 10], [10, 590], [690, 590], [360, 310], [340, 290]]) {
    const { x, y, size } = loupe.placeLoupe(point, sheet);
    assert.equal(size, 200);
    assert.ok(x >= 0 && y >= 0 && x + size <= 700 && y + size <= 600);
    assert.ok(!(point[0] >= x && point[0] <= x + size && point[1] >= y && point[1] <= y + size));
  }
});

test("the loupe's middle is exactly the pick", () => {
  const patch = loupe.loupePatch([100.37, 50.5], 160, 8);
  assert.equal(patch.x + patch.width / 2, 100.37);
  assert.equal(patch.y + patch.height / 2, 50.5);
  assert.equal(patch.width, 20);
});

test("the tile of the loupe stays inside the photo", () => {
  assert.deepEqual(loupe.loupeTile([2, 2998], { width: 4000, height: 3000 }, 256), { x: 0, y: 2744, width: 256, height: 256 });
  assert.deepEqual(loupe.loupeTile([5, 5], { width: 100, height: 80 }, 256), { x: 0, y: 0, width: 100, height: 80 });
});

test("arrow keys step by a pixel, ten, or a tenth", () => {
  assert.deepEqual(keys.arrowStep({ key: "ArrowUp", shiftKey: false, altKey: false }), [0, -1]);
  assert.deepEqual(keys.arrowStep({ key: "ArrowRight", shiftKey: true, altKey: false }), [10, 0]);
  assert.deepEqual(keys.arrowStep({ key: "ArrowLeft", shiftKey: false, altKey: true }), [-0.1, 0]);
  assert.deepEqual(keys.arrowStep({ key: "ArrowDown", shiftKey: false, altKey: false, ctrlKey: true }), [0, 100]);
  assert.equal(keys.arrowStep({ key: "a", shiftKey: false, altKey: false }), null);
});

test("no two acts share a key", () => {
  const used = keys.KEY_TABLE.filter((row) => row.act).flatMap((row) => row.keys);
  assert.equal(new Set(used).size, used.length);
});

test("Ctrl and Cmd undo alike", () => {
  const press = { key: "z", ctrlKey: false, metaKey: false, shiftKey: false, altKey: false };
  assert.equal(keys.actOf({ ...press, ctrlKey: true }), "undo");
  assert.equal(keys.actOf({ ...press, metaKey: true, shiftKey: true, key: "Z" }), "redo");
  assert.equal(keys.actOf(press), "");
});

test("corners come in order round the middle whatever the order picked", () => {
  assert.deepEqual(geometry.cornersInOrder([[90, 70], [10, 10], [10, 70], [90, 10]]), [[10, 10], [90, 10], [90, 70], [10, 70]]);
});

test("a label covers neither its own opening nor another label", () => {
  const box = { x: 100, y: 100, width: 50, height: 80 };
  const labels = [{ box, width: 60, height: 16 }, { box, width: 60, height: 16 }, { box, width: 60, height: 16 }];
  const places = geometry.placeLabels(labels, { width: 400, height: 400 }, 4).map(([x, y]) => ({ x, y, width: 60, height: 16 }));
  for (const [i, place] of places.entries()) {
    assert.ok(!geometry.boxesMeet(place, box));
    for (const other of places.slice(i + 1)) assert.ok(!geometry.boxesMeet(place, other));
  }
});

test("a label with no free place is left out", () => {
  const box = { x: 0, y: 0, width: 100, height: 100 };
  assert.deepEqual(geometry.placeLabels([{ box, width: 60, height: 16 }], { width: 100, height: 100 }, 4), [null]);
});

test("the ellipse of equal variances is a circle", () => {
  const { major, minor } = geometry.ellipseOf(4, 0, 4);
  assert.deepEqual([major, minor], [2, 2]);
  assert.ok(Math.abs(geometry.ellipseOf(2.5, 1.5, 2.5).turn_rad - Math.PI / 4) < 1e-12);
});

const face = {
  id: "front", photo: "p", surface: { kind: "wall" }, frame: [[0, 0], [10, 0], [10, 8], [0, 8]], guides: [], references: [],
  measures: [{ id: "w1", kind: "opening", label: "W1", at: [[1, 1], [3, 5], [3, 1], [1, 5]], head: "round", head_at: [[2, 0.5]] }],
};

test("marks carry one handle for each pick and a line in order", () => {
  const [frame, opening] = marksOf({ faces: [face] }, face, { sheet: "photo", answer: null });
  assert.equal(frame.key, "faces/@front/frame");
  assert.equal(opening.picks.length, 5);
  assert.deepEqual(opening.line, [[1, 1], [3, 1], [3, 5], [1, 5]]);
});

test("on the wall a mark stands only where the server placed it, v up", () => {
  const answer = { page: { suspects: [], faces: { front: { picks_mm: { "faces/@front/frame/#0": [5, 7] } } } } };
  const marks = marksOf({ faces: [face] }, face, { sheet: "wall", answer });
  assert.equal(marks.length, 1);
  assert.deepEqual(marks[0].picks.map((p) => p.point), [[5, -7]]);
});

test("a suspect pick marks the whole thing", () => {
  const answer = { page: { suspects: [{ path: "faces/@front/frame/#2" }], faces: {} } };
  assert.deepEqual(marksOf({ faces: [face] }, face, { sheet: "photo", answer }).map((m) => m.suspect), [true, false]);
});
