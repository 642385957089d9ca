// @ts-check
/** The drawing and the ± map, fetched only while they are looked at. Effect. */

import { askJson, latest } from "./api.js";
import { present } from "./history.js";
import { lackOf } from "./job_lines.js";

/** Of what is known of the drawing, what is wished: how it lies on paper. @param {any} drawingHow */
export const onPaper = ({ paper, landscape, hidden }) => ({ paper, landscape, hidden });

/** @param {import("./store.js").Store} store */
export function keepDrawingFresh(store) {
  const how = () => onPaper(store.state.drawingHow);
  const drawing = latest(
    (/** @type {any} */ want, signal) => askJson(`/api/surveys/${want.survey}/elevation`, want.body, { signal }),
    (told) => {
      if (store.state.paperImage) URL.revokeObjectURL(store.state.paperImage);
      const paperImage = told.svg ? URL.createObjectURL(new Blob([told.svg], { type: "image/svg+xml" })) : null;
      store.set({ drawn: { ...store.state.drawn, paths: told.paths, inferred: told.inferred, lines: told.lines, ghost: told.ghost, stamp: told.stamp, held: null }, paperImage, drawingHow: { ...store.state.drawingHow, known_layers: told.layers, warnings: told.warnings, liberties: told.liberties, problem: null } });
    },
    (problem) => store.set({ drawn: null, paperImage: null, drawingHow: { ...store.state.drawingHow, problem: `${problem.message} ${/** @type {any} */ (problem).hint ?? ""}`.trim() } }),
  );
  store.on((s) => [s.drawing !== "off" || s.open === "drawing", s.survey, s.face, s.answer?.stamp, JSON.stringify(how())], (s) => {
    if (!s.survey || !s.answer || !s.history || (s.drawing === "off" && s.open !== "drawing")) return;
    const lack = lackOf(present(s.history).faces.find((/** @type {any} */ f) => f.id === s.face), s.answer.page.faces[s.face], "drawing");
    if (lack) { drawing.stop(); store.set({ drawn: null, paperImage: null, drawingHow: { ...s.drawingHow, problem: lack.says } }); return; }
    drawing.ask({ survey: s.survey, body: { document: present(s.history), face: s.face, how: how() } });
  });

  const map = latest(
    (/** @type {any} */ want, signal) => askJson(`/api/surveys/${want.survey}/plus-minus`, want.body, { signal }),
    (told) => store.set({ plusMinus: told.spots }),
    () => store.set({ plusMinus: null }),
  );
  store.on((s) => [s.map, s.survey, s.face, s.answer?.stamp], (s) => {
    if (!s.answer?.page?.faces?.[s.face]?.sized) { map.stop(); store.set({ plusMinus: null }); } else if (s.map && s.survey) map.ask({ survey: s.survey, body: { stamp: s.answer.stamp, face: s.face } });
  });
}
