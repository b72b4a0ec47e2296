// A page whose server or kernel is gone looks alive: sliders move, pictures stay as they are. Here
// it is noticed, and said. Nothing is asked while nobody touches the page.
(() => {
  const TAKEN_UP_MS = 6000; // a line that was cut is taken up again by itself, mostly sooner
  const PATIENCE_MS = 20000; // a server that makes pages ready for others answers late
  const PAUSE_MS = 3000;
  const wait = (ms) => new Promise((done) => setTimeout(done, ms));
  let line = null, cut = false, silent = false, anew = false, asking = false, asked = 0;

  function tell() {
    document.getElementById("lengthwise-gone").hidden = !(cut || silent || anew);
  }

  async function answered(address) {
    const stop = new AbortController();
    const late = setTimeout(() => stop.abort(), PATIENCE_MS);
    const token = /\b_xsrf=([^;]*)/.exec(document.cookie); // a hub asks for it
    const headers = token ? { "X-XSRFToken": token[1] } : {};
    try {
      const answer = await fetch(address, { cache: "no-store", headers, signal: stop.signal });
      // Whoever refuses to tell is there all the same. A hub says 424 for a server that was stopped.
      return ![404, 424].includes(answer.status) && answer.status < 500;
    } catch {
      return false;
    } finally {
      clearTimeout(late);
    }
  }

  // Never two at a time, nor more often than every few seconds. Only two silences in a row count.
  async function ask() {
    if (line === null || asking) return;
    asking = true;
    await wait(asked + PAUSE_MS - Date.now());
    const where = new URL(line.url);
    where.protocol = location.protocol;
    const address = `${where.origin}${where.pathname.replace(/\/channels$/, "")}?no_track_activity=1`;
    silent = !(await answered(address)) && (await wait(PAUSE_MS), !(await answered(address)));
    asking = false;
    asked = Date.now();
    tell();
    if (silent) setTimeout(ask, 2 * PAUSE_MS);
  }

  // A kernel that died is started anew by the server, and knows nothing of this page.
  function heard(message) {
    const data = message.data, small = 4000;
    if ((data.byteLength || data.length) > small) return;
    const text = typeof data === "string" ? data : new TextDecoder().decode(data);
    if (/"execution_state": ?"(auto)?restarting"/.test(text)) anew = true;
    if (anew) tell();
  }

  const Line = window.WebSocket;
  window.WebSocket = class extends Line {
    constructor(...given) {
      super(...given);
      if (!String(given[0]).includes("/channels")) return;
      line = this;
      this.addEventListener("message", heard);
      this.addEventListener("open", () => { cut = false; tell(); });
      this.addEventListener("close", async () => {
        await wait(TAKEN_UP_MS);
        cut = line.readyState !== Line.OPEN;
        tell();
      });
    }
  };
  for (const kind of ["input", "click", "keydown"]) document.addEventListener(kind, ask, true);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) ask(); });
  window.addEventListener("pageshow", (event) => { if (event.persisted) ask(); });
})();
