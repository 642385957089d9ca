import assert from "node:assert/strict";
import { test } from "node:test";
import { removeFace } from "../../measure/workbench/static/js/edits/faces.js";
import { movePick, ownerOf, removePick } from "../../measure/workbench/static/js/edits/picks.js";
import * as ties from "../../measure/workbench/static/js/edits/ties.js";
import { faceKind } from "../../measure/workbench/static/js/face_states.js";
import { jobLines } from "../../measure/workbench/static/js/job_lines.js";
import { marksOf } from "../../measure/workbench/static/js/marks.js";
import { pathFromText, valueAt } from "../../measure/workbench/static/js/paths.js";
import { asked, isFull, startRun, takePick } from "../../measure/workbench/static/js/pick_sequence.js";

const wall = (id, photo, more = {}) => ({ id, photo, label: id, surface: { kind: "wall" }, frame: [[0, 0], [9, 0], [9, 9], [0, 9]], guides: [], references: [], measures: [], ...more });
const doc = Object.freeze({
  photos: [{ id: "street", file: "street.jpg" }, { id: "lane", file: "lane.jpg" }],
  faces: [wall("front", "street"), wall("wing", "street"), wall("gable", "lane"), wall("front-lane", "lane", { same_as: "front" })],
});
const ends = [{ face: "front", at: [10, 20] }, { face: "front-lane", at: [30, 40, 0.4] }];
const tied = ties.addTie(doc, "point", ends);
const END = pathFromText("ties/@t1/at/#1/at");

test("a tie gets an id nobody has, in surveys that have had none too", () => {
  assert.deepEqual(tied.ties, [{ id: "t1", kind: "point", label: "", at: ends }]);
  assert.equal(ties.addTie(tied, "level", ends).ties[1].id, "t2");
});

test("the same wall in the other photo is proposed first to be tied to", () => {
  assert.equal(ties.counterpart(doc, doc.faces[0]).id, "front-lane");
  assert.equal(ties.counterpart(doc, doc.faces[3]).id, "front");
  assert.equal(ties.counterpart(doc, doc.faces[1]).id, "gable");
});

test("an end of a tie is a pick of its face: moved alone, removed with the whole tie", () => {
  assert.equal(ties.faceOfPath(tied, END), "front-lane");
  assert.deepEqual(valueAt(movePick(tied, END, [31, 41]), END), [31, 41]);
  assert.deepEqual(ownerOf(tied, END), { group: "tie", kind: "point", path: ["ties", "@t1", "at", 1] });
  assert.deepEqual(removePick(tied, END).ties, []);
});

test("ends are marked on their own face alone", () => {
  const marks = marksOf(tied, tied.faces[3], { sheet: "photo", answer: null }).filter((m) => m.group === "tie");
  assert.deepEqual(marks.map((m) => [m.key, m.face, m.picks[0].path, m.picks[0].point]), [["ties/@t1/at/#1", "front-lane", "ties/@t1/at/#1/at", [30, 40]]]);
  assert.deepEqual(marksOf(tied, tied.faces[1], { sheet: "photo", answer: null }).filter((m) => m.group === "tie"), []);
});

test("removing a face lets go of its ties, and of walls said to be the same", () => {
  const less = removeFace(tied, "front");
  assert.deepEqual(less.ties, []);
  assert.equal(less.faces.find((f) => f.id === "front-lane").same_as, null);
});

test("a tie among three photos loses only the end whose face goes", () => {
  const third = { ...doc, photos: [...doc.photos, { id: "yard", file: "yard.jpg" }], faces: [...doc.faces, wall("back", "yard")] };
  const three = ties.addTie(third, "level", [...ends, { face: "back", at: [5, 5] }]);
  assert.deepEqual(removeFace(three, "front").ties[0].at.map((end) => end.face), ["front-lane", "back"]);
});

test("a tie is asked for once here and once in the other photo", () => {
  const run = startRun("tie", "level", { faces: ["front", "front-lane"] });
  assert.match(asked(run), /both photos/);
  const next = takePick(run, [1, 2]);
  assert.match(asked(next), /other photo/);
  assert.equal(isFull(takePick(next, [3, 4])), true);
});

test("photos that disagree are something to look at among the checks", () => {
  const said = "Photos 'street' and 'lane' disagree.";
  const answer = { page: { faces: {}, suspects: [], ties: { street: [said], lane: [said] } }, results: { photos: {} } };
  const line = jobLines(doc, "front", answer, { exports: 0 }).find((one) => one.id === "checks");
  assert.deepEqual([line.state, line.says], ["wrong", "1 contradiction to look at"]);
});

test("a wall says which wall of another photo it is", () => {
  assert.equal(faceKind(doc.faces[3], (id) => id.toUpperCase()), "the same wall as FRONT");
  assert.equal(ties.setSameAs(doc, "front-lane", null).faces[3].same_as, null);
});
