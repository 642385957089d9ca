import assert from "node:assert/strict";
import { test } from "node:test";
import { addFace, leanOn, removeFace, setEdge } from "../../measure/workbench/static/js/edits/faces.js";
import { addPhoto, firstFaceOf, removePhoto } from "../../measure/workbench/static/js/edits/photos.js";
import { kindOfFace, leansOn, wallsOf } from "../../measure/workbench/static/js/face_kinds.js";
import { ownerOf, removePick } from "../../measure/workbench/static/js/edits/picks.js";
import { faceKind, faceState, solvedSays } from "../../measure/workbench/static/js/face_states.js";
import { guidesFor } from "../../measure/workbench/static/js/kinds.js";
import { marksOf } from "../../measure/workbench/static/js/marks.js";
import { doubtAbout, doubtsByPath } from "../../measure/workbench/static/js/suspects.js";

const doc = Object.freeze({
  photos: [{ id: "photo", file: "street.jpg" }],
  faces: [
    { id: "front", label: "Front", photo: "photo", surface: { kind: "wall" }, frame: [[1, 1], [9, 1], [9, 9], [1, 9]], guides: [] },
    { id: "wing", label: "Wing", photo: "photo", surface: { kind: "wall", hinge: { face: "front", at: [[1, 1], [1, 9]] } }, guides: [] },
  ],
});
const told = { file: "side of the house.jpg", width_px: 4000, height_px: 3000 };

test("one more photo comes with a face of its own", () => {
  const added = addPhoto(doc, told);
  assert.equal(added.doc.photos.length, 2);
  assert.deepEqual(added.doc.photos[1], { id: "photo1", ...told, focal_35mm: null, cropped: false });
  const face = added.doc.faces.find((f) => f.id === added.face);
  assert.equal(face.photo, "photo1");
  assert.equal(face.label, "Wall in side of the house");
  assert.equal(firstFaceOf(added.doc, "photo1"), added.face);
  assert.equal(doc.faces.length, 2);
});

test("a file that is listed already is not listed twice", () => {
  const added = addPhoto(doc, { ...told, file: "street.jpg" });
  assert.equal(added.doc.photos.length, 1);
  assert.equal(added.photo, "photo");
  assert.equal(added.doc.faces.length, 3);
});

test("a photo taken out takes its faces along, and lets go of what hung on them", () => {
  const added = addPhoto(doc, told).doc;
  const kept = removePhoto(added, "photo");
  assert.deepEqual(kept.photos.map((p) => p.id), ["photo1"]);
  assert.deepEqual(kept.faces.map((f) => f.photo), ["photo1"]);
});

test("a second wing has a name of its own", () => {
  const added = addFace(doc, "wing", "front", undefined, [[1, 1], [1, 9]]);
  assert.equal(added.doc.faces.at(-1).label, "Wing 2");
});

test("each face says in what state it is", () => {
  const [front, wing] = doc.faces;
  assert.equal(faceState({ ...front, frame: null }, undefined, undefined).state, "todo");
  assert.equal(faceState(front, { solved: false, problem: { message: "Crossed." } }, undefined).says, "Crossed.");
  assert.equal(faceState(front, { solved: true, sized: false }, undefined).state, "next");
  assert.deepEqual(faceState(front, { solved: true, sized: true }, { state: "checked" }), { state: "done", says: "sized and checked" });
  assert.equal(faceState(front, { solved: true, sized: true }, { state: "doubtful" }).state, "wrong");
  assert.equal(faceKind(wing, (id) => id.toUpperCase()), "wing hinged on FRONT");
});

test("two picks that explain one contradiction are both in doubt and lead to each other", () => {
  const [a, b, c] = ["faces/@front/frame/#0", "faces/@front/frame/#3", "faces/@front/guides/#1/at/#0"];
  const answer = { page: { suspects: [{ path: a, sentence: "A or B.", rivals: [{ path: b, name: "B" }] }, { path: c, sentence: "C.", rivals: [] }] } };
  const doubts = doubtsByPath(answer);
  assert.deepEqual([...doubts.keys()], [a, c, b]);
  assert.equal(doubts.get(a).open, true);
  assert.deepEqual(doubts.get(a).others.map((one) => one.path), [b]);
  assert.deepEqual(doubts.get(b).others.map((one) => one.path), [a]);
  assert.equal(doubts.get(c).open, false);
  assert.equal(doubtAbout(doubts, "faces/@front/guides/#1").sentence, "C.");
  assert.equal(doubtAbout(doubts, "faces/@front/measures/@w1"), undefined);
  assert.equal(doubtsByPath(null).size, 0);
});

test("each kind of face leans on a wall of its photo, or is not added", () => {
  const eaves = [[1, 1], [9, 1]];
  const roof = addFace(doc, "roof", "front", undefined, eaves);
  assert.deepEqual(roof.doc.faces.at(-1).surface, { kind: "roof", eaves: { face: "front", at: eaves }, pitch_deg: null });
  assert.equal(kindOfFace(roof.doc.faces.at(-1)), "roof");
  const parallel = addFace(doc, "parallel", "wing");
  assert.equal(leansOn(parallel.doc.faces.at(-1)), "wing");
  assert.equal(addFace({ ...doc, faces: [] }, "parallel", "").id, "");
  assert.equal(addFace(doc, "roof", "front").doc, doc);
  assert.deepEqual(wallsOf(roof.doc, "photo", "front").map((f) => f.id), ["wing"]);
});

test("lines of a face can be set, moved to another wall and taken away", () => {
  const roof = addFace(doc, "roof", "front", undefined, [[1, 1], [9, 1]]).doc;
  assert.equal(leansOn(leanOn(roof, "roof1", "wing").faces.at(-1)), "wing");
  const again = setEdge(roof, "roof1", "eaves", [[2, 2], [8, 2]], "front");
  assert.deepEqual(again.faces.at(-1).surface.eaves, { face: "front", at: [[2, 2], [8, 2]] });
  const end = ["faces", "@roof1", "surface", "eaves", "at", 0];
  assert.equal(removePick(roof, end).faces.length, 2, "a roof without eaves is no roof");
  assert.equal(removeFace(roof, "front").faces.length, 1, "the slope goes with its wall");
  const parallel = addFace(doc, "parallel", "front").doc;
  const edged = setEdge(parallel, "back1", "returns", [[1, 1], [2, 1]], "");
  assert.deepEqual(ownerOf(edged, ["faces", "@back1", "surface", "returns", 0, 1]).path, ["faces", "@back1", "surface", "returns", 0]);
  assert.equal(removePick(edged, ["faces", "@back1", "surface", "returns", 0, 1]).faces.at(-1).surface.returns.length, 0);
  assert.equal(leansOn(removeFace(edged, "front").faces.at(-1)), null);
});

test("what was solved of a face is told in a sentence, each kind its own", () => {
  const nameOf = () => "Front";
  const says = (surface, result) => solvedSays({ surface }, result, nameOf, "mm").replaceAll("\u202f", " ");
  assert.equal(says({ kind: "wall" }, { measures: {} }), "");
  assert.equal(says({ kind: "wall", hinge: { face: "front" } }, { hinge_deg: -62.04, u_hinge_deg: 0.31 }), "As solved: turned 62.0 ±0.3° from Front.");
  assert.equal(says({ kind: "wall", parallel_to: "front" }, { set_back_mm: -740, u_set_back_mm: 12 }), "As solved: 740 ±12 mm before Front.");
  assert.equal(says({ kind: "roof", eaves: { face: "front" } }, { pitch_deg: 38.2, u_pitch_deg: 1.2 }), "As solved: pitch 38 ±1°.");
  assert.match(says({ kind: "round", beside: "front" }, { radius_mm: 2600, u_radius_mm: 20, axis_set_back_mm: 1000, u_axis_set_back_mm: 30 }), /radius 2 600 ±20 mm, axis 1 000 ±30 mm behind Front/);
});

test("a roof slope is offered verges and nothing plumb, a wall the other way round", () => {
  const kinds = (surface) => guidesFor({ surface }).map(([kind]) => kind);
  assert.deepEqual(kinds({ kind: "roof" }), ["level", "rectangle", "verge"]);
  assert.deepEqual(kinds({ kind: "wall" }), ["plumb", "level", "rectangle"]);
});

test("a verge picked on a roof is marked like any guide", () => {
  const roof = { id: "roof", photo: "street", surface: { kind: "roof", eaves: { face: "front", at: [[0, 9], [9, 9]] } }, guides: [{ kind: "verge", at: [[1, 8], [3, 1]] }], references: [], measures: [] };
  const [mark] = marksOf({ faces: [roof] }, roof, { sheet: "photo", answer: null }).filter((m) => m.group === "guides");
  assert.deepEqual([mark.name, mark.line], ["Verge", [[1, 8], [3, 1]]]);
});
