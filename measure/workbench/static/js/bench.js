// @ts-check
/**
 * What can be done to the open survey: edits with undo, tools, choosing. Knows the store and the
 * pure edits; draws nothing. Effect.
 */

import { addFace, removeFace, setEdge } from "./edits/faces.js";
import { FACE_KINDS } from "./face_kinds.js";
import { fileOf, removePhoto } from "./edits/photos.js";
import { removePick } from "./edits/picks.js";
import { turnJoint } from "./edits/joints.js";
import { addTie, faceOfPath } from "./edits/ties.js";
import * as things from "./edits/things.js";
import { addWish, changeWish, makeWish, withOneAxis } from "./edits/wishes.js";
import { tiedBy } from "./job_lines.js";
import * as history from "./history.js";
import { pathFromText, pathText, valueAt } from "./paths.js";
import { giveBackPick, isFull, mayEnd, startRun, takePick } from "./pick_sequence.js";

/** @param {import("./store.js").Store} store */
export function makeBench(store) {
  const doc = () => (store.state.history ? history.present(store.state.history) : null);

  /** @param {string} name @param {any} next @param {string | null} [mergeKey] */
  function edit(name, next, mergeKey = null) {
    const before = store.state.history;
    if (!before || store.state.saved.state === "elsewhere") return;
    const after = history.record(before, next, name, mergeKey);
    if (after !== before) store.set({ history: after });
  }

  /** Keep what is chosen only while it is there. */
  function dropStale() {
    const { chosen, pick, face } = store.state;
    const now = doc();
    store.set({
      chosen: chosen && valueAt(now, pathFromText(chosen)) !== undefined ? chosen : null,
      pick: pick && valueAt(now, pathFromText(pick)) !== undefined ? pick : null,
      face: valueAt(now, things.facePath(face)) ? face : (now?.faces[0]?.id ?? ""),
    });
  }

  /** @param {import("./history.js").History<any>} next */
  function step(next) {
    if (store.state.saved.state === "elsewhere") return;
    store.set({ history: next });
    dropStale();
  }

  /** @param {string} key of the courses @param {number[]} pick */
  function placeJoint(key, pick) {
    const path = pathFromText(key);
    const id = String(path[3]).slice(1);
    const { answer, face } = store.state;
    const turned = turnJoint(doc(), path, pick, answer?.results?.faces?.[face]?.measures?.[id], answer?.page?.faces?.[face]?.joints?.[id]?.px ?? []);
    if (turned.name) edit(turned.name, turned.doc);
  }

  /** A tie is picked on one face after the other. @param {import("./pick_sequence.js").PickRun} run */
  const nextFace = (run) => (run.group === "tie" ? { face: run.extra.faces[run.picks.length] } : {});

  /** @type {(key: string, pick: number[]) => void} */
  let placeCopy = () => undefined;

  /** @param {import("./pick_sequence.js").PickRun} run */
  function finish(run) {
    const { face } = store.state;
    const picks = run.picks.map((p) => [...p]);
    store.set({ run: null });
    if (run.group === "frame") {
      edit("pick frame", things.setFrame(doc(), face, picks));
      const now = valueAt(doc(), things.facePath(face));
      if (!now?.references?.length && !tiedBy(now)) store.set({ open: "known" });
    } else if (run.group === "guides") {
      edit(`add ${run.spec.name.toLowerCase()}`, things.addGuide(doc(), face, run.kind, picks));
    } else if (run.group === "references") {
      edit("add known size", things.addReference(doc(), face, run.kind, picks, run.extra));
    } else if (run.group === "datum") {
      edit("set datum", things.setDatum(doc(), face, picks[0]));
    } else if (run.group === "surface") {
      edit(`pick ${run.spec.name.toLowerCase()}`, setEdge(doc(), face, run.kind, picks, run.extra.beside));
    } else if (run.group === "face") {
      joinFace(/** @type {any} */ (run.kind), picks);
    } else if (run.group === "wish") {
      placeWish(run.kind, run.extra, picks[0]);
    } else if (run.group === "tie") {
      edit(`tie ${run.spec.name.toLowerCase()}`, addTie(doc(), run.kind, picks.map((at, i) => ({ face: run.extra.faces[i], at }))));
      store.set({ face: run.extra.faces[0] });
    } else if (run.group === "copy") {
      placeCopy(run.extra.key, picks[0]);
    } else if (run.group === "joints") {
      store.set({ run: null });
    } else if (run.group === "head") {
      edit("pick head", things.setHeadPicks(doc(), run.extra.path, picks));
    } else {
      const added = things.addMeasure(doc(), face, run.kind, picks, run.extra);
      edit(`add ${run.spec.name.toLowerCase()}`, added.doc);
      store.set({ chosen: pathText(added.path), pick: null });
    }
  }

  /** @param {import("./face_kinds.js").FaceKind} kind @param {number[][]} picks of the line that it joins by @param {string} [inPhoto] */
  function joinFace(kind, picks, inPhoto) {
    const added = addFace(doc(), kind, inPhoto ? "" : store.state.face, inPhoto, picks);
    if (!added.id) return;
    edit(`add ${FACE_KINDS[kind].name.toLowerCase()}`, added.doc);
    store.set({ face: added.id, chosen: null, pick: null, open: "frame" });
    if (kind === "wing" || kind === "parallel" || kind === "roof") store.set({ run: startRun("frame", "") });
  }

  /** @param {string} kind @param {Record<string, any>} extra list, name, and index of one that is moved or whose field is picked @param {number[]} pick */
  function placeWish(kind, extra, pick) {
    const { face } = store.state;
    if (extra.field) { edit("pick axis", changeWish(doc(), face, extra.list, extra.index, withOneAxis({ [extra.field]: pick }))); return; }
    if (extra.index !== undefined) { edit(`move ${kind}`, changeWish(doc(), face, extra.list, extra.index, kind === "copy" ? { at: pick, centre_mm: null } : { at: pick, at_mm: null })); return; }
    const wish = makeWish(valueAt(doc(), things.facePath(face)), extra.list, kind, pick);
    if (wish) edit(`add ${extra.name.toLowerCase()}`, addWish(doc(), face, extra.list, wish));
  }

  return {
    /** Who places copies: it takes the server's help. @param {typeof placeCopy} place */
    copiesBy(place) { placeCopy = place; },
    doc,
    edit,
    undo: () => store.state.history && step(history.undo(store.state.history)),
    redo: () => store.state.history && step(history.redo(store.state.history)),
    settle: () => store.state.history && store.set({ history: history.settle(store.state.history) }),
    mark: () => store.state.history?.past.length ?? 0,
    /** @param {number} mark */
    backTo(mark) {
      if (store.state.history) step(history.backTo(store.state.history, mark));
    },

    /** Take a tool in hand. @param {import("./pick_sequence.js").PickRun["group"]} group @param {string} [kind] @param {Record<string, any>} [extra] */
    take(group, kind = "", extra = {}) {
      if (!store.state.face || store.state.saved.state === "elsewhere") return;
      store.set({ run: startRun(group, kind, extra), pick: null, drawing: store.state.drawing === "alone" ? "off" : store.state.drawing });
    },
    putDown() {
      const { run } = store.state;
      store.set({ run: null, ...(run?.group === "tie" ? { face: run.extra.faces[0] } : {}) });
    },
    /** @param {number[]} pick */
    place(pick) {
      const { run } = store.state;
      if (!run) return;
      if (run.group === "joints") { placeJoint(run.extra.path, pick); return; }
      const next = takePick(run, pick);
      if (isFull(next)) finish(next);
      else store.set({ run: next, ...nextFace(next) });
    },
    giveBack() {
      const { run } = store.state;
      const back = run && giveBackPick(run);
      if (back) store.set({ run: back, ...nextFace(back) });
    },
    endRun() {
      const { run } = store.state;
      if (run && mayEnd(run)) finish(run);
    },

    /** @param {string | null} chosen @param {string | null} [pick] */
    choose(chosen, pick = null) {
      const face = (chosen && faceOfPath(doc(), pathFromText(chosen))) || store.state.face;
      store.set({ chosen, pick, face, run: null });
    },
    /** @param {string} pathOfThing */
    remove(pathOfThing) {
      const whole = pathFromText(pathOfThing);
      const path = whole[0] === "ties" ? whole.slice(0, 2) : whole;
      const name = path[0] === "ties" ? "tie" : valueAt(doc(), path)?.label || String(path[2] ?? "face").replace(/s$/, "").replace("@", "");
      edit(`remove ${name}`, things.removeThing(doc(), path));
      dropStale();
    },
    removeChosen() {
      const { pick, chosen } = store.state;
      if (pick) edit("remove pick", removePick(doc(), pathFromText(pick)));
      else if (chosen) this.remove(chosen);
      dropStale();
    },
    /** @param {string} id of the photo; its faces go with it */
    removePhoto(id) {
      edit(`remove ${fileOf(doc(), id)}`, removePhoto(doc(), id));
      dropStale();
    },
    /** A kind that joins another by a line begins with that line. @param {import("./face_kinds.js").FaceKind} kind @param {string} [inPhoto] */
    addFace(kind, inPhoto) {
      if (FACE_KINDS[kind].first) this.take("face", kind);
      else joinFace(kind, [], inPhoto);
    },
    /** @param {string} id */
    removeFace(id) {
      edit("remove face", removeFace(doc(), id));
      dropStale();
    },
  };
}

/** @typedef {ReturnType<typeof makeBench>} Bench */
