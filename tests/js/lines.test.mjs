import assert from "node:assert/strict";
import { test } from "node:test";
import { inWords, keepApart, lineName, lineNear, lineWishes, memberName, moveLine, movedWith, nextLine, putTogether, wishesOf } from "../../measure/workbench/static/js/edits/lines.js";

const face = { id: "front", measures: [{ id: "w1", kind: "opening", label: "Left window" }, { id: "w2", kind: "opening", label: "" }, { id: "h1", kind: "level", label: "Eaves" }, { id: "o1", kind: "outline", label: "Wall" }] };
const doc = Object.freeze({ faces: [face] });
const line = (at_mm, ...members) => ({ what: "level", at_mm, chart_mm: at_mm, measured_mm: at_mm, members, owners: members, pieces_mm: members.map(() => [0, 1]), moved: false, fixed: false });
const sills = line(900, "w1.sill", "w2.sill");
const eaves = line(2400, "h1.level", "o1.3.v");

test("what stands on a line is named as a builder would", () => {
  assert.equal(memberName("w1.sill", face), "sill of Left window");
  assert.equal(memberName("w2.left", face), "left jamb of w2");
  assert.equal(memberName("h1.level", face), "Eaves");
  assert.equal(memberName("o1.3.v", face), "corner 3 of Wall");
  assert.equal(lineName(sills, face), "sill of Left window and 1 more");
});

test("a sentence of the program names things, not their ids", () => {
  assert.equal(inWords("level of w1.sill, datum, frame.3 and 2 more", face), "level of sill of Left window, datum, corner 3 of the frame and 2 more");
  assert.equal(inWords("plumb of o1.2, w2.left", face), "plumb of corner 2 of Wall, w2.left");
  assert.equal(inWords("w1@copy-2", face), "copy 2 of Left window");
  assert.equal(inWords("w1 copied to 1 300 mm, sill 2 590 mm", face), "Left window copied to 1 300 mm, sill 2 590 mm");
});

test("a line is moved as one wish, and moved again it replaces it", () => {
  const once = moveLine(doc, "front", sills, sills.members, { to_mm: 950 });
  assert.deepEqual(wishesOf(once, "front", "moved"), [{ what: "level", of: ["w1.sill", "w2.sill"], to_mm: 950 }]);
  const twice = moveLine(once, "front", sills, sills.members, { to_mm: 960 });
  assert.deepEqual(wishesOf(twice, "front", "moved").map((wish) => wish.to_mm), [960]);
  assert.equal(moveLine(doc, "front", sills, sills.members, null), doc);
});

test("one thing moved alone leaves the others where they were put", () => {
  const both = movedWith([], "level", sills.members, { to_mm: 950 });
  assert.deepEqual(movedWith(both, "level", ["w1.sill"], { to_mm: 800 }), [{ what: "level", of: ["w2.sill"], to_mm: 950 }, { what: "level", of: ["w1.sill"], to_mm: 800 }]);
  assert.deepEqual(movedWith(both, "level", ["w1.sill"], null), [{ what: "level", of: ["w2.sill"], to_mm: 950 }]);
});

test("a line is drawn to the nearest other one within reach, never to its own", () => {
  const lines = [sills, eaves, line(930, "w3.sill")];
  assert.equal(lineNear(lines, sills, sills.members, 925, 20)?.members[0], "w3.sill");
  assert.equal(lineNear(lines, sills, sills.members, 905, 20), null);
  // one thing alone may go back to the line that it left
  assert.equal(lineNear(lines, sills, ["w1.sill"], 905, 20), sills);
});

test("the next line lies beyond the place, the nearer first", () => {
  const lines = [sills, eaves, line(930, "w3.sill")];
  assert.equal(nextLine(lines, sills, 900, 1)?.at_mm, 930);
  assert.equal(nextLine(lines, sills, 930, 1)?.at_mm, 2400);
  assert.equal(nextLine(lines, sills, 900, -1), null);
});

test("two lines put together are one wish, and what kept them apart or moved them is gone", () => {
  const apart = keepApart(moveLine(doc, "front", sills, ["w1.sill"], { to_mm: 950 }), "front", sills, "w1.sill");
  const one = putTogether(apart, "front", line(900, "w1.sill"), line(910, "w2.sill"));
  assert.deepEqual(wishesOf(one, "front", "together"), [{ what: "level", of: ["w1.sill", "w2.sill"] }]);
  assert.deepEqual(wishesOf(one, "front", "apart"), []);
  assert.deepEqual(wishesOf(one, "front", "moved"), []);
});

test("keeping one apart says so of every other on its line, and takes it out of what was one", () => {
  const three = line(900, "w1.sill", "w2.sill", "w3.sill");
  const made = putTogether(doc, "front", sills, line(910, "w3.sill"));
  const apart = keepApart(made, "front", three, "w1.sill");
  assert.deepEqual(wishesOf(apart, "front", "apart").map((wish) => wish.of), [["w1.sill", "w2.sill"], ["w1.sill", "w3.sill"]]);
  assert.deepEqual(wishesOf(apart, "front", "together"), [{ what: "level", of: ["w2.sill", "w3.sill"] }]);
});

test("every wish is told in words and can be taken back by itself", () => {
  const made = keepApart(moveLine(doc, "front", eaves, eaves.members, { onto: "w2.head" }), "front", sills, "w1.sill");
  const told = lineWishes(made, "front", face);
  assert.deepEqual(told.map((one) => one.says), ["Eaves, corner 3 of Wall: put onto the line of head of w2", "sill of Left window: kept apart from sill of w2"]);
  assert.deepEqual(wishesOf(told[0].without, "front", "moved"), []);
  assert.deepEqual(wishesOf(told[1].without, "front", "apart"), []);
});
