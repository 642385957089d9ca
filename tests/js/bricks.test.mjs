import assert from "node:assert/strict";
import { test } from "node:test";
import { chooseFormat, countedCourses, formatOf, withReadCounts } from "../../measure/workbench/static/js/edits/bricks.js";

const imperial = { key: "uk-brick-imperial", name: "UK imperial brick", gauge_mm: 76.2, u_gauge_mm: 0.6, source: "a book", verdict: "agrees" };
const courses = (more) => ({ id: "c1", kind: "courses", at: [[1, 90], [1, 10]], count: null, joints: [], ...more });
const docOf = (references, measures) => ({ faces: [{ id: "front", references, measures }] });
const sure = { measures: { c1: { count: 12, sure: true } } };
const unsure = { measures: { c1: { count: 12, sure: false } } };
const chosen = (doc, results) => chooseFormat(doc, "front", imperial, results).faces[0].references;

test("courses that nobody counted and the program is not sure of tell no brick", () => {
  const [face] = docOf([], [courses()]).faces;
  assert.deepEqual(countedCourses(face, unsure), []);
  assert.equal(countedCourses(face, sure).length, 1);
});

test("known courses speak before measured ones", () => {
  const [face] = docOf([{ kind: "courses", count: 24 }], [courses({ count: 5 })]).faces;
  assert.deepEqual(countedCourses(face, {}), face.references);
});

test("a sure count is written down to be weighed by, a count by hand stays", () => {
  assert.equal(withReadCounts(docOf([], [courses()]), "front", sure).faces[0].measures[0].count, 12);
  assert.equal(withReadCounts(docOf([], [courses()]), "front", unsure).faces[0].measures[0].count, null);
  assert.equal(withReadCounts(docOf([], [courses({ count: 7 })]), "front", sure).faces[0].measures[0].count, 7);
});

test("a format gives its gauge to the known courses and leaves other known sizes alone", () => {
  const door = { kind: "length", length_mm: 1981 };
  const doc = docOf([door, { kind: "courses", at: [[0, 0], [0, 9]], count: 24, gauge_mm: 75, u_gauge_mm: 0.6, label: "brick", size: "uk-brick-metric" }], []);
  const [length, known] = chosen(doc, {});
  assert.equal(length, door);
  assert.deepEqual([known.count, known.gauge_mm, known.size, known.label], [24, 76.2, "uk-brick-imperial", "UK imperial brick"]);
  assert.equal(formatOf(chooseFormat(doc, "front", imperial, {}).faces[0]), "uk-brick-imperial");
});

test("where no courses are known the counted ones become a known size", () => {
  const [made] = chosen(docOf([], [courses({ set_back_mm: 40 })]), sure);
  assert.deepEqual([made.kind, made.count, made.at, made.set_back_mm, made.gauge_mm], ["courses", 12, [[1, 90], [1, 10]], 40, 76.2]);
  assert.deepEqual(Object.keys(made).filter((key) => ["source", "verdict", "id"].includes(key)), []);
});

test("courses with joints by hand become known between the first and the last of them", () => {
  const [made] = chosen(docOf([], [courses({ joints: [[1, 80], [1, 60], [1, 40]] })]), {});
  assert.deepEqual([made.count, made.at], [2, [[1, 80], [1, 40]]]);
});

test("without counted courses there is nothing to choose for", () => {
  const doc = docOf([], [courses()]);
  assert.equal(chooseFormat(doc, "front", imperial, unsure), doc);
});
