import assert from "node:assert/strict";
import { test } from "node:test";
import { jointMeant, jointsOf, keepJoints, setCount, turnJoint } from "../../measure/workbench/static/js/edits/joints.js";
import { movePick, nudgePick } from "../../measure/workbench/static/js/edits/picks.js";
import { copyMeasure } from "../../measure/workbench/static/js/edits/things.js";
import { valueAt } from "../../measure/workbench/static/js/paths.js";
import { mayEnd, runSentence, startRun } from "../../measure/workbench/static/js/pick_sequence.js";

/** Five joints 10 px apart going up the photo, on a wall whose courses fall by one in ten to the right. */
const read = { joints_px: [0, 1, 2, 3, 4].map((n) => [100, 500 - 10 * n, 0.2]) };
const lines = read.joints_px.map(([x, y]) => [[x - 50, y - 5], [x + 50, y + 5]]);
const path = ["faces", "@front", "measures", "@c1"];
const doc = Object.freeze({ faces: [{ id: "front", measures: [{ id: "c1", kind: "courses", at: [[100, 500], [100, 460]], count: null, joints: [] }] }] });
const joints = (now) => valueAt(now, [...path, "joints"]);

test("a click on a joint means it, also far along its course", () => {
  assert.equal(jointMeant([100, 481], read.joints_px, lines), 2);
  // 60 px to the right the same course lies 6 px lower
  assert.equal(jointMeant([160, 486], read.joints_px, lines), 2);
});

test("a click between two joints or beyond the last means none", () => {
  assert.equal(jointMeant([100, 475], read.joints_px, lines), -1);
  assert.equal(jointMeant([100, 450], read.joints_px, lines), -1);
  assert.equal(jointMeant([100, 510], read.joints_px, lines), -1);
});

test("a false joint goes, and those read stay as the user's own", () => {
  const turned = turnJoint(doc, path, [101, 480], read, lines);
  assert.equal(turned.name, "take joint away");
  assert.deepEqual(joints(turned.doc), read.joints_px.filter((_, i) => i !== 2));
  assert.equal(joints(doc).length, 0);
});

test("a missing joint comes in at its place among the others", () => {
  const without = turnJoint(doc, path, [100, 480], read, lines).doc;
  const again = turnJoint(without, path, [120, 482.5], read, lines);
  assert.equal(again.name, "add joint");
  assert.deepEqual(joints(again.doc).map((p) => p[1]), [500, 490, 482.5, 470, 460]);
});

test("a joint added beyond either end comes first or last", () => {
  assert.deepEqual(joints(turnJoint(doc, path, [100, 510], read, lines).doc)[0], [100, 510]);
  assert.deepEqual(joints(turnJoint(doc, path, [100, 450], read, lines).doc)[5], [100, 450]);
});

test("two joints stay, since one makes no course", () => {
  const two = keepJoints(doc, path, read.joints_px.slice(0, 2));
  assert.deepEqual(turnJoint(two, path, [100, 500], read, lines), { doc: two, name: "" });
});

test("where nothing was read there is nothing to turn", () => {
  assert.deepEqual(turnJoint(doc, path, [100, 500], {}, []), { doc, name: "" });
  assert.deepEqual(jointsOf(valueAt(doc, path), undefined), []);
});

test("a typed count takes the place of joints, and joints that of a count", () => {
  const kept = keepJoints(setCount(doc, path, 9), path, read.joints_px);
  assert.deepEqual([valueAt(kept, path).count, joints(kept).length], [null, 5]);
  const counted = setCount(kept, path, 7);
  assert.deepEqual([valueAt(counted, path).count, joints(counted)], [7, []]);
  assert.equal(setCount(counted, path, 7).faces[0].measures[0].count, 7);
});

test("moving an end has the joints read again, and a copy has none of its own", () => {
  const kept = keepJoints(doc, path, read.joints_px);
  assert.deepEqual(joints(movePick(kept, [...path, "at", 0], [100, 530])), []);
  assert.deepEqual(joints(nudgePick(kept, [...path, "at", 1], [0, 1])), []);
  assert.deepEqual(copyMeasure(kept, path, [[1, 2], [1, 9]]).doc.faces[0].measures[1].joints, []);
});

test("the tool says what a click does and may be put down at any time", () => {
  const run = startRun("joints", "", { path: "faces/@front/measures/@c1" });
  assert.match(runSentence(run), /take it away.*add it/);
  assert.equal(mayEnd(run), true);
});
