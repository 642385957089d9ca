import assert from "node:assert/strict";
import { test } from "node:test";
import { countFound, dropGuides, keepGuides, keepOpenings } from "../../measure/workbench/static/js/edits/offers.js";
import { marksOf } from "../../measure/workbench/static/js/marks.js";

const plumb = { kind: "plumb", at: [[1, 1], [1, 9]], found: false };
const found = (x) => ({ kind: "level", at: [[x, 1], [x + 5, 1]], found: true });
const doc = Object.freeze({
  photos: [{ id: "street" }, { id: "side" }],
  faces: [
    { id: "front", photo: "street", surface: { kind: "wall" }, frame: null, guides: [plumb, found(3)], references: [], measures: [{ id: "w1", kind: "opening", at: [[0, 0], [1, 0], [1, 1], [0, 1]] }] },
    { id: "wing", photo: "street", surface: { kind: "wall" }, guides: [], references: [], measures: [] },
    { id: "end", photo: "side", surface: { kind: "wall" }, guides: [found(7)], references: [], measures: [] },
  ],
});

test("found guides take the place of those found before; picked ones stay", () => {
  const kept = keepGuides(doc, { front: [found(10), found(20)], wing: [found(30)] });
  assert.deepEqual(kept.faces[0].guides, [plumb, found(10), found(20)]);
  assert.equal(countFound(kept, "street"), 3);
  assert.equal(kept.faces[2], doc.faces[2]);
});

test("found guides of a photo go as one, and those of another photo stay", () => {
  const dropped = dropGuides(doc, "street");
  assert.deepEqual(dropped.faces[0].guides, [plumb]);
  assert.equal(countFound(dropped, "side"), 1);
  assert.equal(dropped.faces[1], doc.faces[1]);
});

test("found guides are no marks to grab", () => {
  assert.deepEqual(marksOf(doc, doc.faces[0], { sheet: "photo", answer: null }).filter((m) => m.group === "guides").map((m) => m.key), ["faces/@front/guides/#0"]);
});

test("a proposed opening never takes the id of another", () => {
  const opening = { id: "w1", kind: "opening", label: "", at: [[5, 5], [6, 5], [6, 6], [5, 6]], head: "flat" };
  const kept = keepOpenings(doc, "front", [opening, opening]);
  assert.deepEqual(kept.faces[0].measures.map((m) => m.id), ["w1", "w2", "w3"]);
  assert.equal(kept.faces[0].measures[2].label, "W3");
});
