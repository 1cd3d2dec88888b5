// A tuning beside the page: started and stopped by one button, asked how far it is. Whichever window it was started in, each shows it.

import { byId, set } from "/dom.js";
import { revision, run } from "/link.js";

const LOOK_EVERY_MS = 300;

// `ended` is told how a tuning ended that ran while the page was here. Gives a function that looks how things stand.
export function tuner(button, refused, ended) {
  let running = false, watching = false, stopping = false;
  const post = async (path, body) => {
    const response = await fetch(path, { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(body) });
    return [await response.json(), response.ok];
  };
  const standing = async () => (await fetch("/api/tune")).json();
  const show = ({ running: on, descents }) => {
    running = on;
    stopping &&= on;
    set(button, { textContent: on ? "Stop tuning" : "Tune", disabled: stopping });
    const way = stopping ? "Stopping: the search at work ends first." : "The points stay as they are until it is done.";
    set(byId("tuning"), { hidden: !on, textContent: `Tuning: ${descents} searches done. ${way}` });
  };
  const watch = async (now) => {
    watching = true;
    try {
      for (show(now); now.running; show(now)) {
        await new Promise((then) => setTimeout(then, LOOK_EVERY_MS));
        now = await standing();
      }
      if (now.told) ended(now.told, now.good);
    } catch {
      show({ running: false });
    }
    watching = false;
  };
  button.addEventListener("click", async () => {
    button.disabled = true;
    try {
      if (running) {
        stopping = true;
        show((await post("/api/tune/stop", {}))[0]);
        return;
      }
      const [answer, ok] = await post("/api/tune", { revision: revision(), run: run() });
      if (!ok) refused(answer);
      const now = ok ? answer : await standing();
      if (now.running && !watching) watch(now);
    } catch {
      refused({ what: "hubtrace does not answer", advice: "is it still running in its terminal?" });
    } finally {
      button.disabled = stopping;
    }
  });
  return async () => {
    const now = await standing();
    if (now.running && !watching) watch(now);
    return now;
  };
}
