// @ts-check
/**
 * Results that follow the document: one request under way, the newest document next. Effect.
 * A document that cannot be answered keeps the old answer and shows the sentence.
 */

import { askJson, latest } from "./api.js";
import { present } from "./history.js";

/** @param {import("./store.js").Store} store */
export function keepResultsFresh(store) {
  const asker = latest(
    ({ survey, doc }, signal) => askJson(`/api/surveys/${survey}/results`, { document: doc }, { signal }),
    (answer, args) => {
      if (args.survey === store.state.survey) store.set({ answer, problem: null });
    },
    (problem, args) => {
      if (args.survey !== store.state.survey) return;
      const { message, hint, code } = /** @type {import("./api.js").ApiError} */ (problem);
      if (code === "lost" || code === "key") store.set({ saved: { state: "lost", message: `${message} ${hint}` } });
      else store.set({ problem: { message, hint: hint ?? "", where: "results" } });
    },
  );
  store.on((state) => [state.survey, state.history && present(state.history)], (state) => {
    if (state.survey && state.history) asker.ask({ survey: state.survey, doc: present(state.history) });
    else asker.stop();
  });
  return { again: () => store.state.survey && store.state.history && asker.ask({ survey: store.state.survey, doc: present(store.state.history) }) };
}
