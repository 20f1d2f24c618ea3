// Entries -> the server, one at a time. One that got no answer is kept through a reload and sent
// again with the same id, until it arrives; the server takes it once.

const WAITING = "shotwindow-entry";
const LONGEST_MS = 8000;

export class Failed extends Error {}

function newId() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

/** Send an entry of this device; `onTrouble` hears of tries that failed, and "" at last. */
export async function send(entry, focus, onTrouble) {
  const whole = { id: newId(), who: localStorage.getItem("shotwindow-who"), ...entry };
  sessionStorage.setItem(WAITING, JSON.stringify(whole));
  return sendAgain(focus, onTrouble);
}

export function isWaiting() {
  return sessionStorage.getItem(WAITING) !== null;
}

/** Send the entry that got no answer yet. */
export async function sendAgain(focus, onTrouble) {
  const body = sessionStorage.getItem(WAITING);
  const headers = {
    "Content-Type": "application/json",
    "X-Shotwindow-Token": document.documentElement.dataset.token,
  };
  for (let tries = 1; ; tries += 1) {
    let response;
    try {
      const signal = AbortSignal.timeout(LONGEST_MS);
      response = await fetch(withFocus("/entry?", focus), { method: "POST", headers, body, signal });
      const text = await response.text();
      onTrouble("");
      if (response.status === 401 || response.status === 403) throw new Failed(text); // load again
      sessionStorage.removeItem(WAITING);
      if (!response.ok) throw new Failed(text);
      return JSON.parse(text);
    } catch (fault) {
      if (fault instanceof Failed) throw fault;
      onTrouble("No connection. What you entered is sent again until it arrives; leave this page open.");
      await new Promise((done) => setTimeout(done, Math.min(500 * tries, 5000)));
    }
  }
}

/** Ask for what the page should show. */
export async function readState(focus, known) {
  const address = withFocus(`/state?known=${encodeURIComponent(known)}&`, focus);
  const response = await fetch(address, { signal: AbortSignal.timeout(LONGEST_MS) });
  if (!response.ok) throw new Failed(await response.text());
  return response.json();
}

function withFocus(address, focus) {
  return focus === null ? address : `${address}focus=${focus}`;
}
