// Questions -> what is seen and touched. Text of users is only ever set as text, never as markup.

/** Make an element: `of("p", {class: "faint"}, "text", other)`. */
export function of(name, attributes = {}, ...parts) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (key === "onclick" || key === "onsubmit" || key === "oninput") made[key] = value;
    else if (value === true) made.setAttribute(key, "");
    else if (value !== false && value !== null) made.setAttribute(key, value);
  }
  made.append(...parts.filter((part) => part !== null));
  return made;
}

export function button(text, onclick, attributes = {}) {
  return of("button", { type: "button", onclick, ...attributes }, text);
}

/** A question with its buttons; `typed` is what was typed so far, `onTyped` hears of more. */
export function question(field, typed, onTyped, onAnswer) {
  const label = of("h2", {}, field.text);
  const quick = field.buttons.map((choice) => button(choice.text, () => onAnswer(choice.value)));
  const kinds = { digits, words, cavities, buttons: () => [] };
  const entry = kinds[field.kind](field, typed, onTyped, onAnswer);
  const side = quick.length ? [of("div", { class: "side" }, ...quick)] : [];
  return of("section", { class: "card", "aria-label": field.text }, label, ...side, ...entry);
}

function digits(field, typed, onTyped, onAnswer) {
  // "none" keeps the system's keyboard down, and leaves a real one to those who have it
  const input = of("input", { class: "typed", inputmode: "none", autocomplete: "off",
    maxlength: "20", "aria-label": field.text, oninput: () => onTyped(input.value) });
  input.value = typed;
  const press = (sign) => {
    input.value = sign === "⌫" ? input.value.slice(0, -1) : input.value + sign;
    onTyped(input.value);
  };
  const signs = ["7", "8", "9", "4", "5", "6", "1", "2", "3", ".", "0", "⌫"];
  const name = { "⌫": "delete the last sign", ".": "decimal point" };
  const pad = signs.map((sign) => button(sign, () => press(sign), { "aria-label": name[sign] ?? null }));
  return [typedForm(input, onAnswer, of("div", { class: "pad" }, ...pad))];
}

function words(field, typed, onTyped, onAnswer) {
  const input = of("input", { autocomplete: "off", maxlength: "100", placeholder: "another reason",
    "aria-label": field.text, oninput: () => onTyped(input.value) });
  input.value = typed;
  return [typedForm(input, onAnswer, null)];
}

function typedForm(input, onAnswer, between) {
  const onsubmit = (event) => {
    event.preventDefault();
    if (input.value.trim()) onAnswer(input.value.trim());
  };
  return of("form", { onsubmit }, input, between, of("button", { class: "main" }, "Enter"));
}

function cavities(field, typed, onTyped, onAnswer) {
  const chosen = new Set(typed.split(" ").filter(Boolean));
  const keys = Array.from({ length: field.cavities }, (_, index) => String(index + 1)).map((name) =>
    button(name, (event) => {
      if (!chosen.delete(name)) chosen.add(name);
      event.currentTarget.setAttribute("aria-pressed", chosen.has(name));
      onTyped([...chosen].sort((a, b) => a - b).join(" "));
    }, { "aria-pressed": String(chosen.has(name)), "aria-label": `cavity ${name}` }));
  const enter = () => chosen.size && onAnswer([...chosen].sort((a, b) => a - b).join(" "));
  return [of("div", { class: "pad" }, ...keys), button("Enter", enter, { class: "main" })];
}

/** What was answered so far; a tap opens an answer again. */
export function answers(fields, onOpen) {
  const rows = fields.map((field) => of("li", {},
    button("", () => onOpen(field.heading), { "aria-label": `Change ${field.text}: ${field.answer}` })));
  rows.forEach((row, index) => {
    row.firstChild.append(of("span", {}, fields[index].text), of("b", {}, fields[index].answer));
  });
  return of("ul", { class: "answers" }, ...rows);
}

/** A question that is answered in words: a note, or why something is done. */
export function wordsForm(title, picks, needed, onDone, onBack) {
  const input = of("textarea", { rows: "3", maxlength: "500", "aria-label": title });
  const done = () => (input.value.trim() || !needed) && onDone(input.value.trim());
  return of("section", { class: "card" }, of("h2", {}, title),
    of("div", { class: "side" }, ...picks.map((pick) => button(pick, () => onDone(pick)))),
    input, button("Save", done, { class: "main" }), button("Back", onBack));
}
