import assert from "node:assert/strict";
import { test } from "node:test";
import { PLAIN, addOwnSheet, cardOf, cutFace, setCard } from "../../measure/workbench/static/js/edits/card.js";

const doc = Object.freeze({ faces: [{ id: "front" }, { id: "wing" }, { id: "tower" }], card: null });
const all = ["front", "wing", "tower"];

test("a wish that says what is so anyway changes nothing", () => {
  assert.equal(setCard(doc, "corner", "wrapped"), doc);
  assert.equal(setCard(doc, "corner", "butt").card.corner, "butt");
  assert.deepEqual(cardOf(doc), PLAIN);
});

test("leaving a face out names those that stay, and the last one cannot be left out", () => {
  const two = cutFace(doc, "wing", false, all);
  assert.deepEqual(two.card.faces, ["front", "tower"]);
  assert.deepEqual(cutFace(two, "wing", true, all).card.faces, all);
  const one = cutFace(two, "tower", false, all);
  assert.deepEqual(one.card.faces, ["front"]);
  assert.equal(cutFace(one, "front", false, all), one);
});

test("a sheet of one's own is taken up and used at once, each with a key of its own", () => {
  const sheet = { name: "Cereal box!", stack_mm: 4.2, sheets: 10, use: "carcass" };
  const once = addOwnSheet(doc, sheet);
  assert.equal(once.card.carcass, "own-cereal-box");
  const twice = addOwnSheet(once, sheet);
  assert.deepEqual(twice.card.own_sheets.map((one) => one.key), ["own-cereal-box", "own-cereal-box-2"]);
  assert.match(addOwnSheet(doc, { ...sheet, name: "厚紙" }).card.carcass, /^own-sheet$/);
});
