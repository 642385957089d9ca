import assert from "node:assert/strict";
import { test } from "node:test";
import * as view from "../../measure/workbench/static/js/view_transform.js";

const screen = { width: 800, height: 600 };

test("a point goes to the screen and comes back", () => {
  const v = view.makeView(0.25, 12, -40);
  for (const point of [[0, 0], [4032, 3024], [-7.25, 0.1]]) {
    const back = view.sheetFromScreen(v, view.screenFromSheet(v, point));
    assert.ok(Math.abs(back[0] - point[0]) < 1e-9 && Math.abs(back[1] - point[1]) < 1e-9);
  }
});

test("zooming keeps the point under the pointer", () => {
  const before = view.makeView(0.3, 20, 30);
  const under = view.sheetFromScreen(before, [400, 200]);
  const after = view.zoomAbout(before, 3, [400, 200], [0.01, 40]);
  assert.equal(after.scale, 0.3 * 3);
  assert.deepEqual(view.screenFromSheet(after, under).map(Math.round), [400, 200]);
});

test("zooming against the limit gives the same view back", () => {
  const v = view.makeView(40, 0, 0);
  assert.equal(view.zoomAbout(v, 2, [1, 1], [0.01, 40]), v);
});

test("panning by nothing gives the same view back", () => {
  const v = view.makeView(2, 3, 4);
  assert.equal(view.panBy(v, 0, 0), v);
});

test("fitting a box centres it and leaves the margin", () => {
  const v = view.fitBox({ x: 0, y: 0, width: 400, height: 300 }, screen, 50);
  assert.equal(v.scale, 500 / 300);
  assert.deepEqual(view.screenFromSheet(v, [200, 150]), [400, 300]);
});

test("a point outside is brought to the margin and no further", () => {
  const v = view.bringIntoView(view.IDENTITY, [1000, 100], screen, 40);
  assert.deepEqual(view.screenFromSheet(v, [1000, 100]), [760, 100]);
  assert.equal(view.bringIntoView(view.IDENTITY, [400, 300], screen, 40), view.IDENTITY);
});

test("the visible box is what the screen covers", () => {
  assert.deepEqual(view.visibleBox(view.makeView(2, -200, -100), screen), { x: 100, y: 50, width: 400, height: 300 });
});

test("boxes that do not meet clip to nothing", () => {
  const limit = { x: 0, y: 0, width: 10, height: 10 };
  assert.equal(view.clipBox({ x: 20, y: 0, width: 5, height: 5 }, limit), null);
  assert.deepEqual(view.clipBox({ x: 5, y: 5, width: 50, height: 2 }, limit), { x: 5, y: 5, width: 5, height: 2 });
});

test("a grown box holds the box it grew from", () => {
  const box = { x: 1, y: 2, width: 30, height: 40 };
  assert.ok(view.boxHolds(view.growBox(box, 0.1), box));
  assert.ok(!view.boxHolds(box, view.growBox(box, 0.1)));
});
