import assert from "node:assert/strict";
import { test } from "node:test";
import * as h from "../../measure/workbench/static/js/history.js";

const [a, b, c] = [{ n: 1 }, { n: 2 }, { n: 3 }];

test("undo then redo gives the same document by identity", () => {
  const two = h.record(h.makeHistory(a), b, "move corner");
  assert.equal(h.present(h.undo(two)), a);
  assert.equal(h.present(h.redo(h.undo(two))), b);
});

test("undo names what it will undo", () => {
  const two = h.record(h.makeHistory(a), b, "move corner");
  assert.equal(h.undoName(two), "move corner");
  assert.equal(h.undoName(h.undo(two)), "");
  assert.equal(h.redoName(h.undo(two)), "move corner");
});

test("an edit that changed nothing leaves no step", () => {
  const one = h.makeHistory(a);
  assert.equal(h.record(one, a, "nothing"), one);
});

test("steps with one merge key are one step", () => {
  const dragged = h.record(h.record(h.makeHistory(a), b, "move", "drag:1"), c, "move", "drag:1");
  assert.equal(h.present(h.undo(dragged)), a);
});

test("a settled run does not merge with the next", () => {
  const first = h.settle(h.record(h.makeHistory(a), b, "move", "nudge:w1"));
  const second = h.record(first, c, "move", "nudge:w1");
  assert.equal(h.present(h.undo(second)), b);
});

test("a new step forgets what was undone", () => {
  const undone = h.undo(h.record(h.makeHistory(a), b, "one"));
  assert.equal(h.canRedo(h.record(undone, c, "two")), false);
});

test("Escape goes back to the mark and keeps what could be redone", () => {
  const start = h.undo(h.record(h.makeHistory(a), b, "one"));
  const mark = start.past.length;
  const dragged = { ...h.record(start, c, "drag", "drag:1"), future: start.future };
  assert.equal(h.present(h.backTo(dragged, mark)), a);
  assert.ok(h.canRedo(h.backTo(dragged, mark)));
});

test("undo without limit: a thousand steps and back", () => {
  let history = h.makeHistory({ n: 0 });
  const first = h.present(history);
  for (let n = 1; n <= 1000; n += 1) history = h.record(history, { n }, `step ${n}`);
  for (let n = 0; n < 1000; n += 1) history = h.undo(history);
  assert.equal(h.present(history), first);
  assert.equal(h.undo(history), history);
});
