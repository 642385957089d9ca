import assert from "node:assert/strict";
import { test } from "node:test";
import { pathFromText, pathText, valueAt, withValue, without } from "../../measure/workbench/static/js/paths.js";
import * as picks from "../../measure/workbench/static/js/edits/picks.js";
import * as things from "../../measure/workbench/static/js/edits/things.js";
import * as faces from "../../measure/workbench/static/js/edits/faces.js";

const doc = Object.freeze({
  title: "Wall",
  photos: [{ id: "street", file: "street.jpg" }],
  faces: [{
    id: "front", photo: "street", surface: { kind: "wall" },
    frame: [[10, 10], [90, 10], [90, 70], [10, 70]],
    guides: [{ kind: "plumb", at: [[5, 5], [5, 60]] }], references: [],
    measures: [{ id: "w1", kind: "opening", label: "W1", at: [[20, 20], [30, 20], [30, 40], [20, 40]], head: "flat" },
      { id: "b1", kind: "spacing", label: "B1", at: [[1, 1], [2, 1], [3, 1]] }],
  }, { id: "wing", photo: "street", surface: { kind: "wall", hinge: { face: "front", at: [[1, 1], [1, 9]] } }, measures: [] }],
});
const corner = ["faces", "@front", "frame", 2];

test("a path reads by id and by place, and survives being written as text", () => {
  assert.deepEqual(valueAt(doc, corner), [90, 70]);
  assert.equal(pathText(["faces", "@front", "measures", "@w1", "at", 3]), "faces/@front/measures/@w1/at/#3");
  assert.deepEqual(pathFromText(pathText(corner)), corner);
});

test("an edit shares everything that it did not touch", () => {
  const moved = picks.movePick(doc, corner, [91, 71]);
  assert.deepEqual(valueAt(moved, corner), [91, 71]);
  assert.equal(moved.faces[1], doc.faces[1]);
  assert.equal(moved.faces[0].measures, doc.faces[0].measures);
  assert.deepEqual(valueAt(doc, corner), [90, 70]);
});

test("an edit that changes nothing gives the same document", () => {
  assert.equal(picks.movePick(doc, corner, [90, 70]), doc);
  assert.equal(picks.movePick(doc, ["faces", "@none", "frame", 0], [1, 1]), doc);
  assert.equal(withValue(doc, ["title"], "Wall"), doc);
  assert.equal(without(doc, ["faces", "@none"]), doc);
});

test("nudging adds to the pick and drops the ± of a snapped one", () => {
  const snapped = picks.movePick(doc, corner, [90.123, 70], 0.3);
  assert.deepEqual(valueAt(snapped, corner), [90.12, 70, 0.3]);
  assert.deepEqual(valueAt(picks.nudgePick(snapped, corner, [0.1, -10]), corner), [90.22, 60]);
});

test("removing a pick of a long row keeps the row, of a short one removes it", () => {
  const row = ["faces", "@front", "measures", "@b1", "at", 1];
  assert.equal(valueAt(picks.removePick(doc, row), ["faces", "@front", "measures", "@b1", "at"]).length, 2);
  const gone = picks.removePick(doc, ["faces", "@front", "measures", "@w1", "at", 1]);
  assert.equal(valueAt(gone, ["faces", "@front", "measures", "@w1"]), undefined);
});

test("removing a corner of the frame removes the frame", () => {
  assert.equal(valueAt(picks.removePick(doc, corner), ["faces", "@front", "frame"]), null);
});

test("a new measure gets an id nobody has", () => {
  const { doc: more, path } = things.addMeasure(doc, "front", "opening", [[1, 1], [2, 1], [2, 2], [1, 2]]);
  assert.deepEqual(path, ["faces", "@front", "measures", "@w2"]);
  assert.equal(valueAt(more, path).label, "W2");
});

test("a copy is a measure of its own with the fields of the first", () => {
  const { doc: more, path } = things.copyMeasure(doc, ["faces", "@front", "measures", "@w1"], [[1, 1], [2, 1], [2, 2], [1, 2]]);
  assert.equal(valueAt(more, path).head, "flat");
  assert.equal(valueAt(more, path).id, "w2");
  assert.equal(more.faces[0].measures.length, 3);
});

test("another head lets the old head's picks go", () => {
  const path = ["faces", "@front", "measures", "@w1"];
  const arched = things.setHeadPicks(things.setHead(doc, path, "segmental"), path, [[25, 15]]);
  assert.deepEqual(valueAt(arched, path).head_at, [[25, 15]]);
  assert.equal(valueAt(things.setHead(arched, path, "pointed"), path).head_at, undefined);
  assert.equal(things.setHead(doc, path, "flat"), doc);
});

test("removing a face lets go of what hinged on it", () => {
  const less = faces.removeFace(doc, "front");
  assert.equal(less.faces.length, 1);
  assert.equal(less.faces[0].surface.hinge, null);
});

test("a tower stands beside the face it was added to", () => {
  const { doc: more, id } = faces.addFace(doc, "round", "front");
  assert.equal(id, "tower1");
  assert.equal(valueAt(more, ["faces", "@tower1"]).surface.beside, "front");
});

test("pointing at a zoomed-out photo is as coarse as its screen pixels", () => {
  assert.equal(picks.pointedU(1), null);
  assert.equal(picks.pointedU(8), null);
  assert.equal(picks.pointedU(0.1), 3.1);
});
