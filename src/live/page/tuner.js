// A tuning beside the page: started and stopped by one button, asked how far it is.

const LOOK_EVERY_MS = 300;

export function tuner(button, revision, tell) {
  let running = false;
  const post = async (path, body) => {
    const response = await fetch(path, { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(body) });
    return [await response.json(), response.ok];
  };
  const show = (on) => {
    running = on;
    button.textContent = on ? "Stop tuning" : "Tune";
  };
  const watch = async () => {
    const answer = await (await fetch("/api/tune")).json();
    show(answer.running);
    if (answer.running) {
      tell(`Tuning: ${answer.descents} searches done.`, true, false);
      setTimeout(watch, LOOK_EVERY_MS);
    } else if (answer.told) tell(answer.told, answer.tuned, true);
  };
  button.addEventListener("click", async () => {
    if (running) {
      await post("/api/tune/stop", {});
      return;
    }
    const [answer, ok] = await post("/api/tune", { revision: revision() });
    if (ok) watch();
    else tell(`${answer.what}: ${answer.advice}`, false, false);
  });
}
