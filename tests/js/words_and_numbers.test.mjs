import assert from "node:assert/strict";
import { test } from "node:test";
import * as format from "../../measure/workbench/static/js/format.js";
import { isSizeOf } from "../../measure/workbench/static/js/known_sizes.js";
import { rowsOf, shortSize } from "../../measure/workbench/static/js/measure_rows.js";
import { trustSentence } from "../../measure/workbench/static/js/trust_sentence.js";
import { jobLines, lackOf } from "../../measure/workbench/static/js/job_lines.js";

const wide = (text) => text.replaceAll("\u202f", " ");

test("digits follow the ±", () => {
  const table = [
    [1204.13, 5.8, "mm", "1 204 ±6 mm"],
    [1204.13, 0.34, "mm", "1 204.1 ±0.3 mm"],
    [1204.13, 5.8, "m", "1.204 ±0.006 m"],
    [12041.3, 58, "m", "12.04 ±0.06 m"],
    [2032, 6, "ft", "6 ft 8 in ±0.2 in"],
    [910, null, "mm", "910.0 mm"],
  ];
  for (const [mm, u, unit, text] of table) assert.equal(wide(format.trueSizeText(mm, u, unit)), text);
});

test("feet and inches carry over and keep their fractions short", () => {
  const table = [[304.8, "1 ft"], [2032, "6 ft 8 in"], [25.4 * 5.5, "5 1/2 in"], [0, "0 in"], [304.79, "1 ft"], [-609.6, "−2 ft"]];
  for (const [mm, text] of table) assert.equal(format.feetAndInches(mm), text);
});

test("a known size is found by its words in any order, and by its length", () => {
  const door = { name: "UK door leaf, metric, 826 x 2040 mm: height", group: "Door", note: "the moving panel", words: "uk-door-leaf-metric-826x2040 UK", length_mm: 2040 };
  for (const typed of ["", "metric door", "Door leaf 2040", "2040 ", "uk-door"]) assert.ok(isSizeOf(door, typed), typed);
  for (const typed of ["metric brick", "2041"]) assert.ok(!isSizeOf(door, typed), typed);
});

test("minus nothing is nothing", () => {
  assert.equal(format.plain(-0.001, 1), "0.0");
});

test("a model size keeps hundredths until they mean nothing", () => {
  assert.equal(wide(format.modelSizeText(8.138)), "8.14 mm");
  assert.equal(wide(format.modelSizeText(123.46)), "123.5 mm");
  assert.equal(wide(format.modelPlusMinus(0.0742)), "0.074 mm");
});

test("a scale bar steps by 1, 2 or 5", () => {
  assert.deepEqual([3, 13, 21, 100, 0.4].map(format.roundStep), [5, 20, 50, 100, 0.5]);
});

const face = { id: "front", measures: [{ id: "w1", kind: "opening", label: "W1" }, { id: "c1", kind: "courses", label: "" }] };
const results = { measures: {
  w1: { kind: "opening", width_mm: 1204.1, u_width_mm: 5.8, height_mm: 2101, u_height_mm: 40, sill_mm: 910, u_sill_mm: 5, model_width_mm: 8.14, model_height_mm: 14.2, warnings: [] },
  c1: { kind: "courses", count: 61, sure: false, gauge_mm: 76.3, u_gauge_mm: 0.2 },
} };

test("an opening shows width, height and sill, and marks the ± a knife could cut", () => {
  const [row] = rowsOf(face, results, "mm", 148);
  assert.deepEqual(row.sizes.map((s) => s.what), ["wide", "high", "sill"]);
  assert.deepEqual(row.sizes.map((s) => s.knife), [false, true, false]);
  assert.equal(wide(row.sizes[0].model), "8.14 mm");
  assert.equal(wide(shortSize(row)), "1 204 × 2 101");
});

test("a count that is not sure says so", () => {
  const row = rowsOf(face, results, "mm", 148)[1];
  assert.equal(row.sizes[0].value, "61 courses");
  assert.equal(row.sizes[0].what, "not sure");
});

test("a measure without a result still has its row", () => {
  assert.deepEqual(rowsOf(face, undefined, "mm", 148).map((row) => row.sizes.length), [0, 0]);
});

test("the trust sentence speaks in the user's units", () => {
  const trust = { u_across_mm: 10.9, advice: "A second known size would let the program check itself.", state: "sized" };
  assert.equal(wide(trustSentence(trust, "mm", 148).lead), "Good to ±11 mm across the wall, 0.074 mm on your model.");
  assert.match(wide(trustSentence(trust, "ft", 148).lead), /±0\.4 in across/);
  assert.equal(trustSentence({ u_across_mm: null, advice: "Pick a frame.", state: "none" }, "mm", 148).lead, "");
  assert.match(trustSentence({ u_across_mm: 508, advice: "Pick a wider frame.", state: "coarse" }, "mm", 148).lead, /^Only to ±508/);
  assert.match(trustSentence({ u_across_mm: 11, advice: "Two sizes disagree.", state: "doubtful" }, "mm", 148).lead, /^In doubt: ±11/);
});

test("the first open line of the job is the next one", () => {
  const doc = { photos: [{ id: "p", file: "a.jpg" }], faces: [{ id: "front", photo: "p", surface: { kind: "wall" }, frame: null, measures: [] }] };
  const lines = jobLines(doc, "front", null, { exports: 0 });
  assert.deepEqual(lines.map((l) => l.name), ["Photo", "Faces", "Frame", "Known size", "Checks", "Measures", "Drawing", "Sheets"]);
  assert.deepEqual(lines.filter((l) => l.state === "next").map((l) => l.id), ["frame"]);
});

test("a slipped pick turns the checks line wrong", () => {
  const doc = { photos: [{ id: "p", file: "a.jpg" }], faces: [{ id: "front", photo: "p", frame: [[0, 0], [1, 0], [1, 1], [0, 1]], measures: [] }] };
  const answer = { page: { suspects: [{ path: "faces/@front/frame/#2" }], faces: {}, photos: {} }, results: { photos: { p: { redundancy: 3, rms_px: 4 } } } };
  assert.equal(jobLines(doc, "front", answer, { exports: 0 }).find((l) => l.id === "checks").state, "wrong");
});

test("checks are done only where they agree", () => {
  const doc = { photos: [{ id: "p", file: "a.jpg" }], faces: [{ id: "front", photo: "p", frame: null, measures: [] }] };
  const line = (photo) => jobLines(doc, "front", { page: { suspects: [], faces: {}, photos: {} }, results: { photos: { p: photo } } }, { exports: 0 }).find((l) => l.id === "checks");
  assert.equal(line({ redundancy: 1, misfit: 1 }).says, "1 check agrees");
  assert.equal(line({ redundancy: 5, misfit: 1 }).state, "done");
  assert.equal(line({ redundancy: 5, misfit: 5.4 }).state, "wrong");
});

test("a typed number may have a comma and its unit", () => {
  const table = [["3,05 mm", "mm", 3.05], ["150", "mm", 150], ["38.5°", "°", 38.5], ["38 °", "°", 38], ["", "mm", 0]];
  for (const [text, unit, number] of table) assert.equal(format.typedNumber(text, unit), number);
  for (const text of ["ten", "3 ft", "1,2,3"]) assert.ok(Number.isNaN(format.typedNumber(text, "mm")));
});

test("what a face lacks for a sheet is said, with the line of the job that gives it", () => {
  const face = (...kinds) => ({ measures: kinds.map((kind) => ({ kind })) });
  const sized = { solved: true, sized: true };
  assert.equal(lackOf(face(), undefined, "picture")?.open, "frame");
  assert.equal(lackOf(face("opening"), { solved: true, sized: false }, "drawing")?.open, "known");
  assert.equal(lackOf(face(), sized, "picture"), null);
  assert.equal(lackOf(face(), sized, "table")?.open, "measures");
  assert.equal(lackOf(face("distance"), sized, "table"), null);
  assert.equal(lackOf(face("distance"), sized, "drawing")?.open, "measures");
  assert.equal(lackOf(face("outline"), sized, "drawing"), null);
});
