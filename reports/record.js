// The state that the server tells -> the page; what is touched -> entries. The server decides, this
// only shows: after each entry, and every other second, it draws what the server says.

import { answers, button, of, question, wordsForm } from "./record_fields.js";
import { Failed, isWaiting, readState, send, sendAgain } from "./record_talk.js";

const POLL_MS = 2000;
const VOID_REASONS = ["wrong setting", "wrong charge", "mold not closed", "part lost"];
const at = (id) => document.getElementById(id);

let state = null;
let busy = false;
let soakEnd = null; // by performance.now()
let told = null; // what was answered to the last entry, until it is put aside
let sound = null;
// What of this device a reload must not lose: the screen, what is typed, masses put off.
const view = { screen: "shot", focus: null, open: null, typed: {}, later: null,
  ...JSON.parse(sessionStorage.getItem("shotwindow-view") ?? "{}") };

function keepView() {
  sessionStorage.setItem("shotwindow-view", JSON.stringify(view));
}

function go(screen, focus = null) {
  Object.assign(view, { screen, focus, open: null });
  refresh("");
}

function trouble(text) {
  at("link").textContent = text;
  at("link").hidden = !text;
}

// ---- entries ----

async function post(entry) {
  if (busy) return;
  await talk(entry, () => send(entry, view.focus, trouble));
}

async function talk(entry, sending) {
  busy = true;
  document.body.classList.add("busy");
  try {
    const { reply, state: fresh } = await sending();
    told = { reply, entry };
    if (reply.taken && !reply.said.length && !reply.offer) told = null;
    if (reply.taken) settle(entry);
    take(fresh);
  } catch (fault) {
    if (!(fault instanceof Failed)) throw fault;
    told = { reply: { problems: [fault.message], reload: true }, entry };
  } finally {
    busy = false;
    document.body.classList.remove("busy");
    draw();
  }
}

/** Forget what was typed for an entry that is taken. */
function settle(entry) {
  if (entry.heading) delete view.typed[`${entry.shot} ${entry.heading}`];
  if (["answer", "change"].includes(entry.act)) view.open = null;
  if (["accept", "later", "no_part", "void", "skip", "reopen", "note", "undo"].includes(entry.act)) {
    Object.assign(view, { screen: "shot", focus: null, open: null, later: null });
  }
}

function seenOf(shot) {
  const known = [state.shot, state.focus, ...state.done].find((one) => one && one.shot === shot);
  return known ? known.seen : 0;
}

// ---- state ----

async function refresh(known) {
  if (busy && known) return;
  try {
    const fresh = await readState(view.focus, known);
    if (!busy) trouble("");
    if (!fresh.same) take(fresh);
  } catch (fault) {
    trouble(fault instanceof Failed ? fault.message : "No connection to the computer at the press.");
    draw();
  }
}

function take(fresh) {
  const asked = state?.shot?.fields.find((field) => field.heading === openHeading(state.shot));
  const now = asked && fresh.shot?.shot === state.shot.shot
    && fresh.shot.fields.find((field) => field.heading === asked.heading);
  const typed = asked && view.typed[`${state.shot.shot} ${asked.heading}`];
  if (!busy && typed && now && now.answer !== asked.answer) {
    told = { reply: { said: [`${now.text}: another device entered ${now.answer}. You had typed ${typed}.`] } };
  }
  state = fresh;
  const soak = state.shot?.soak;
  soakEnd = soak?.runs ? performance.now() + 1000 * soak.left_s : null;
  if (view.later !== null && view.later !== state.shot?.shot) view.later = null;
  draw();
}

// ---- screens ----

function draw() {
  keepView();
  at("told").replaceChildren(...(told ? [toldPanel()] : []));
  if (state === null) return;
  at("progress").textContent = `${state.recorded} of ${state.total} recorded`;
  const name = localStorage.getItem("shotwindow-who");
  const screens = { shot: shotScreen, more: moreScreen, list: listScreen, focus: focusScreen,
    void: voidScreen, note: noteScreen, skip: skipScreen, cautions: cautionsScreen };
  const stopped = told && !told.reply.said?.length; // a question stands: nothing else is asked
  at("main").replaceChildren(...(name === null ? [nameScreen()] : stopped ? [] : screens[view.screen]()));
  at("keys").replaceChildren(...(name === null || stopped ? [] : keys()));
  at("main").querySelector("input")?.focus({ preventScroll: true });
  tick();
}

function keys() {
  const undo = state.undo && button("Undo", () => confirmUndo(), { "aria-label": `Undo ${state.undo.text}` });
  if (view.screen !== "shot") return [button("Back to the shot", () => go("shot"))];
  const noPart = state.shot && !state.shot.warm_up && !state.shot.soak
    && button("No part", () => ask(`Shot ${state.shot.shot} gave no part?`, "No part", about("no_part")));
  return [undo, noPart, button("More", () => go("more"))].filter(Boolean);
}

function about(act, more = {}) {
  return { act, shot: state.shot.shot, seen: state.shot.seen, ...more };
}

function confirmUndo() {
  ask(`Take back ${state.undo.text}?`, "Take it back", { act: "undo", shot: 0, seen: state.undo.seq });
}

/** Ask before an entry that a glove may have touched by chance. */
function ask(text, yes, entry) {
  told = { reply: { asked: text, yes }, entry };
  draw();
}

function toldPanel() {
  const { reply, entry } = told;
  const close = () => { told = null; draw(); };
  const again = (more) => () => { told = null; post({ ...entry, ...more }); };
  const lines = [...(reply.problems ?? []), ...(reply.doubts ?? []), reply.conflict, reply.asked];
  const keys = [];
  if (reply.asked) keys.push(button(reply.yes, again({}), { class: "main" }), button("No", close));
  else if (reply.doubts?.length) {
    lines.push("Is it right all the same?");
    keys.push(button("It is right", again({ sure: reply.doubts }), { class: "main" }), button("No, go back", close));
  } else if (reply.theirs !== undefined && reply.theirs !== null) {
    keys.push(button(`Keep ${reply.theirs || "it empty"}`, () => { settle(entry); close(); }, { class: "main" }),
      button(`Take mine: ${entry.text}`, again({ was: reply.theirs })));
  } else if (reply.again) {
    keys.push(button("Leave it", close, { class: "main" }),
      button("Send mine all the same", again({ seen: seenOf(entry.shot) })));
  } else if (reply.offer) {
    lines.push(reply.offer.text);
    const offer = { act: reply.offer.act, shot: reply.offer.shots[0], shots: reply.offer.shots };
    keys.push(button(reply.offer.yes, () => { told = null; post({ ...offer, seen: seenOf(offer.shot) }); },
      { class: "main" }), button(reply.offer.no, close));
  } else if (reply.reload) keys.push(button("Load the page again", () => location.reload(), { class: "main" }), button("Close", close));
  else keys.push(button("OK", close));
  const quiet = reply.said?.length && !reply.offer;
  return of("section", { class: quiet ? "card said" : "warning", role: quiet ? "status" : "alertdialog", "aria-label": "Message" },
    ...[...(reply.said ?? []), ...lines].filter(Boolean).map((line) => of("p", {}, line)), ...keys);
}

function nameScreen() {
  const input = of("input", { maxlength: "60", "aria-label": "Your name", autocomplete: "name" });
  input.value = document.documentElement.dataset.by;
  const onsubmit = (event) => {
    event.preventDefault();
    const name = input.value.trim();
    if (!name) return;
    localStorage.setItem("shotwindow-who", name);
    draw();
  };
  const cautions = [...at("cautions").children].map((one) => of("li", {}, one.textContent));
  return of("form", { onsubmit }, of("h2", {}, "Before the first shot"), of("ul", {}, ...cautions),
    of("section", { class: "card" }, of("h2", {}, "Who records on this device?"), input,
      of("button", { class: "main" }, "Go on")));
}

function shotScreen() {
  const news = state.news ? [of("p", { class: "card said wide" }, state.news)] : [];
  const shot = state.shot;
  if (!shot) return [of("h2", {}, "All shots are made."), ...waitingPart(), ...news];
  const left = [movesCard(shot)];
  if (shot.stood) left.push(of("p", { class: "warning" }, `${shot.stood}.`));
  const right = shot.soak ? soakPart(shot) : shot.warm_up ? warmUpPart(shot) : askPart(shot, answer, savePart);
  return [of("section", { class: "shot" }, of("h2", {}, shot.title),
    of("div", {}, ...left), of("div", {}, ...right), ...news)];
}

function movesCard(shot) {
  if (!shot.moves.length) return of("p", { class: "card" }, "Leave everything as it is.");
  const rows = shot.moves.flatMap((move) => [of("dt", {}, `Set ${move.name} to`),
    of("dd", {}, of("b", {}, move.value), ` ${move.unit}`),
    of("dd", { class: "remark" }, move.remark)]);
  const held = shot.held.map((one) => of("p", { class: "faint" }, `Keep ${one}`));
  return of("section", { class: "card", "aria-label": "What to set" }, of("dl", { class: "moves" }, ...rows), ...held);
}

function soakPart(shot) {
  const cut = about("cut");
  if (!shot.soak.runs) {
    const start = () => { sound ??= new AudioContext(); post(about("set")); };
    return [button(`It is set: soak ${shot.soak.minutes} min`, start, { class: "main" }),
      button("Go on without a soak", () => ask("Go on without the soak?", "Go on", cut))];
  }
  return [of("p", { class: "clock", id: "clock", role: "timer" }), of("p", { class: "faint" }, "left to soak"),
    button("Cut the soak short", () => ask("Cut the soak short?", "Cut it short", cut))];
}

function warmUpPart(shot) {
  return [button("Shot made and set aside", () => post({ act: "accept", shot: shot.shot }), { class: "main" })];
}

/** Return which question is open: the one that was tapped, or the first without an answer. */
function openHeading(shot) {
  const fields = shot.fields.filter((field) => !(view.later === shot.shot && field.weighed));
  const tapped = fields.find((field) => field.heading === view.open);
  return (tapped ?? fields.find((field) => field.needed && !field.answer))?.heading ?? null;
}

function askPart(shot, onAnswer, ending) {
  const open = shot.fields.find((field) => field.heading === openHeading(shot));
  const given = shot.fields.filter((field) => field.answer && field !== open);
  const list = answers(given, (heading) => { view.open = heading; draw(); });
  if (!open) return [list, ...ending(shot)];
  const key = `${shot.shot} ${open.heading}`;
  const asked = question(open, view.typed[key] ?? "", (text) => { view.typed[key] = text; keepView(); },
    (text) => onAnswer(shot, open, text));
  const back = view.open && button("Back", () => { view.open = null; draw(); });
  const clear = view.open && open.answer && !open.needed
    && button("No other reason", () => onAnswer(shot, open, ""));
  const later = open.weighed && !view.focus
    && button("Weigh the parts later", () => { view.later = shot.shot; view.open = null; draw(); });
  return [asked, ...[later, clear, back].filter(Boolean), list]; // the digits stay where they are
}

function answer(shot, field, text) {
  post({ act: "answer", shot: shot.shot, heading: field.heading, text, was: field.answer });
}

function correct(shot, field, text) {
  if (text === field.answer) { view.open = null; draw(); return; }
  post({ act: "change", shot: shot.shot, seen: shot.seen, heading: field.heading, text });
}

function valuesOf(shot) {
  return Object.fromEntries(shot.fields.filter((field) => field.answer).map((field) => [field.heading, field.answer]));
}

function savePart(shot) {
  const later = view.later === shot.shot;
  const other = shot.fields.find((field) => field.heading === "other");
  const entry = { act: later ? "later" : "accept", shot: shot.shot, values: valuesOf(shot) };
  const parts = [button(later ? `Save shot ${shot.shot}, weigh it later` : `Save shot ${shot.shot}`,
    () => post(entry), { class: "main" })];
  if (other && !other.answer) {
    parts.push(button("Rejected for another reason…", () => { view.open = "other"; draw(); }));
  }
  if (later) parts.push(button("Weigh it now", () => { view.later = null; draw(); }));
  return parts;
}

function waitingPart() {
  return state.waiting.map((one) => button(`Weigh shot ${one.shot}: parts ${one.labels}`, () => go("focus", one.shot)));
}

function moreScreen() {
  const shot = state.shot;
  const items = [...waitingPart()];
  if (shot) {
    items.push(button(`Note on shot ${shot.shot}`, () => go("note")),
      button(`Void: shot ${shot.shot} says nothing about the mold`, () => go("void")),
      button(`Leave shot ${shot.shot} out`, () => go("skip")));
  }
  items.push(button("Earlier shots: look, correct, note, void", () => go("list")),
    button(`Actual settings: ${state.actual ? "do not ask" : "ask"} for them`, () => {
      view.screen = "shot";
      post({ act: "actual", shot: 0, text: state.actual ? "off" : "on" });
    }),
    button("Cautions", () => go("cautions")),
    button(`Name on this device: ${localStorage.getItem("shotwindow-who")}`, () => {
      localStorage.removeItem("shotwindow-who");
      go("shot");
    }));
  return items;
}

function listScreen() {
  if (!state.done.length) return [of("p", {}, "No shot is recorded yet.")];
  return [of("h2", {}, "Earlier shots"), ...state.done.map((one) => button(doneText(one), () => go("focus", one.shot)))];
}

function doneText(one) {
  return [`Shot ${one.shot}: ${one.outcome}`, one.text, one.note && `note: ${one.note}`, one.by && `by ${one.by}`]
    .filter(Boolean).join(" · ");
}

function focusScreen() {
  const focus = state.focus;
  if (!focus) return [of("p", {}, "No such shot.")];
  if (focus.labels) {
    return [of("h2", {}, `Weigh the parts labeled ${focus.labels}`), ...askPart(focus, answer, savePart)];
  }
  const done = state.done.find((one) => one.shot === focus.shot);
  const heading = of("h2", {}, done ? doneText(done) : `Shot ${focus.shot}`);
  const nothing = () => [];
  const fields = focus.fields.length ? askPart(focus, correct, () => addReason(focus)) : nothing();
  const again = { act: "reopen", shot: focus.shot, seen: focus.seen };
  const keys = view.open ? [] : [button("Note", () => open("note")), button("Void", () => open("void")),
    button("Bring it back, to make it again", () => ask(`Make shot ${focus.shot} again?`, "Make it again", again))];
  return [heading, ...fields, ...keys];
}

function addReason(shot) {
  const other = shot.fields.find((field) => field.heading === "other");
  return other.answer ? [] : [button("Rejected for another reason…", () => { view.open = "other"; draw(); })];
}

function open(screen) {
  view.screen = screen;
  draw();
}

/** The shot that a note or a void is about: the earlier one that is open, or the one to make. */
function subject() {
  return view.focus === null ? state.shot : state.focus;
}

function words(act, title, picks, needed) {
  const shot = subject();
  if (!shot) return [of("p", {}, "No such shot.")];
  const done = (text) => post({ act, shot: shot.shot, seen: shot.seen, text });
  return [wordsForm(title(shot.shot), picks, needed, done, () => go("shot"))];
}

function voidScreen() {
  return words("void", (shot) => `Why is shot ${shot} void?`, VOID_REASONS, true);
}

function noteScreen() {
  return words("note", (shot) => `Note on shot ${shot}`, [], true);
}

function skipScreen() {
  return words("skip", (shot) => `Why is shot ${shot} left out? (May stay empty)`, [], false);
}

function cautionsScreen() {
  return [of("ul", {}, ...[...at("cautions").children].map((one) => of("li", {}, one.textContent)))];
}

// ---- the soak ----

function tick() {
  const clock = at("clock");
  if (soakEnd === null || !clock) return;
  const left = Math.max(0, Math.ceil((soakEnd - performance.now()) / 1000));
  clock.textContent = `${Math.floor(left / 60)}:${String(left % 60).padStart(2, "0")}`;
  if (left > 0) return;
  soakEnd = null;
  ring();
  told = { reply: { said: ["The soak is over."] } };
  refresh("");
}

function ring() {
  navigator.vibrate?.([400, 200, 400]);
  if (!sound) return; // browsers let a page sound only after a touch
  for (const start of [0, 0.5, 1]) {
    const tone = new OscillatorNode(sound, { frequency: 880 });
    tone.connect(sound.destination);
    tone.start(sound.currentTime + start);
    tone.stop(sound.currentTime + start + 0.3);
  }
}

document.addEventListener("click", () => { sound ??= new AudioContext(); }, { once: true });
setInterval(tick, 500);
setInterval(() => state && refresh(state.revision), POLL_MS);
if (isWaiting()) {
  await talk({}, () => sendAgain(view.focus, trouble));
} else await refresh("");
