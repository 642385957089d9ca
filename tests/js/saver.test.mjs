import assert from "node:assert/strict";
import { test } from "node:test";

import { makeHistory, present, record } from "../../measure/workbench/static/js/history.js";
import { makeStore } from "../../measure/workbench/static/js/store.js";

globalThis.addEventListener ??= () => undefined;
globalThis.setInterval = () => 0;

/** Requests that wait to be answered by the test, in any order. */
const asked = [];
globalThis.fetch = (path, init = {}) => new Promise((answer) => {
  const method = init.method ?? "GET";
  asked.push({ what: `${method} ${path}`, body: init.body && JSON.parse(init.body), tell: (json, status = 200) => answer({ ok: status < 300, status, json: async () => json }) });
});
const rest = async () => { for (let i = 0; i < 5; i += 1) await new Promise((done) => { setTimeout(done, 10); }); };
const next = (what) => { const at = asked.findIndex((one) => one.what.startsWith(what)); assert.ok(at >= 0, `${what} of ${asked.map((one) => one.what)}`); return asked.splice(at, 1)[0]; };

const { keepSaved } = await import("../../measure/workbench/static/js/saver.js");

function opened() {
  asked.length = 0;
  const doc = { title: "as opened" };
  const store = makeStore({ place: "start", survey: null, history: null, saved: { state: "saved", message: "" } });
  const saver = keepSaved(store, () => undefined);
  saver.opened(doc, 1);
  store.set({ place: "bench", survey: "s1", history: makeHistory(doc) });
  const edit = (title) => store.set({ history: record(store.state.history, { title }, title) });
  return { store, saver, edit, title: () => present(store.state.history).title };
}

test("an edit saved while it is asked who holds the survey is not taken for another's", async () => {
  const { store, saver, edit, title } = opened();
  edit("mine");
  const put = next("PUT");
  saver.claim();
  next("POST").tell({ held: true, revision: 2 }); // the file is written, the answer to the save still on its way
  await rest();
  assert.deepEqual(asked, []);
  put.tell({ revision: 2 });
  await rest();
  assert.equal(title(), "mine");
  assert.equal(store.state.saved.state, "saved");
});

test("an old word on the file that comes after a save is not believed", async () => {
  const { saver, edit, title } = opened();
  saver.claim();
  edit("mine");
  next("PUT").tell({ revision: 2 });
  await rest();
  next("POST").tell({ held: true, revision: 1 });
  await rest();
  assert.deepEqual(asked, []);
  assert.equal(title(), "mine");
});

test("what another tab saved is taken, and an edit made meanwhile is saved upon it", async () => {
  const { saver, edit } = opened();
  saver.claim();
  next("POST").tell({ held: true, revision: 7 });
  await rest();
  const read = next("GET");
  edit("mine");
  assert.deepEqual(asked, []);
  read.tell({ document: { title: "theirs" }, revision: 7 });
  await rest();
  edit("mine again");
  assert.equal(next("PUT").body.revision, 7);
});

test("a change of the file itself waits for the save under way, and later saves wait for it", async () => {
  const { saver, edit } = opened();
  edit("mine");
  let changed = null;
  const done = saver.alone(() => new Promise((go) => { changed = go; }));
  await rest();
  assert.equal(changed, null);
  next("PUT").tell({ revision: 2 });
  await rest();
  edit("meanwhile");
  assert.deepEqual(asked, []);
  saver.opened({ title: "an earlier version" }, 5);
  changed();
  await done;
  assert.equal(next("PUT").body.revision, 5);
});
