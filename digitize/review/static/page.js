// The page: the doubtful figures in order, one in hand, every answer sent the moment it is given.
import {SheetView} from "./sheet.js";

const element = id => document.getElementById(id);
const view = new SheetView(element("canvas"), pick, pointed);
let content = null, current = null, mode = null, ends = null, busy = false;
const DRAFT = "tracecloth-review-draft"; // what is half typed survives a reload or a killed program
const NAME = "tracecloth-review-name", DARK = "tracecloth-review-dark", KEYS = "tracecloth-review-keys";

function fill(list, lines) {
  list.replaceChildren(...lines.map(line => Object.assign(document.createElement("li"), {textContent: line})));
}

const same = (one, other) => one && other && one.place[0] === other.place[0] && one.place[1] === other.place[1];
const settled = row => Boolean(row.confirmed_by);
const plain = text => (text || "").replaceAll("\n", " / ");

function draw() {
  const rows = content.rows, sheet = content.sheet;
  element("title").textContent = sheet.name + (sheet.page > 1 ? `, page ${sheet.page}` : "");
  document.title = `Review: ${sheet.name}`;
  const open = rows.filter(row => row.status !== "agreed").length;
  element("progress").textContent = `${rows.length} figures: ${open} to look at, ${rows.filter(settled).length} confirmed`;
  element("scale").textContent = content.scale; element("gear").textContent = content.gear; element("outlines").textContent = content.outlines;
  fill(element("warnings"), content.warnings); fill(element("cautions"), content.cautions);
  element("undo").disabled = !content.said; element("redo").disabled = !content.undone;
  current = rows.find(row => same(row, current)) || rows[0] || null;
  list(); card();
  view.rows = rows; view.draw();
}

function list() {
  element("rows").replaceChildren(...content.rows.map(row => {
    const item = document.createElement("li"), button = document.createElement("button"), state = stateOf(row);
    button.type = "button";
    button.append(span(row.id), span(plain(row.text) || "(not read)"), state);
    button.setAttribute("aria-current", same(row, current) ? "true" : "false");
    button.onclick = () => pick(row);
    item.append(button);
    return item;
  }));
}

const span = text => Object.assign(document.createElement("span"), {textContent: text});

function stateOf(row) {
  const state = span(settled(row) ? `${row.status}, ${row.confirmed_by}` : row.status);
  state.className = `state ${row.status}`;
  return state;
}

function card() {
  const row = current, picture = element("closeup");
  for (const id of ["accept", "strike", "typed"]) element(id).disabled = !row;
  picture.hidden = !row;
  if (!row) { element("where").textContent = "Nothing to look at"; return; }
  element("where").textContent = `Figure ${row.id}: ${row.name ? row.name.replaceAll("_", " ") : row.kind}`;
  picture.src = `figure/${row.place[0]}.jpg?v=${content.version}`;
  picture.alt = `The lettering of ${row.id}, enlarged`;
  element("state").replaceWith(Object.assign(stateOf(row), {id: "state"}));
  element("reads").textContent = row.text || "could not be read";
  element("measures").textContent = row.measured === null ? "Nothing was found that it measures." : `Measures ${measured(row)} ${row.unit} on the sheet`;
  fill(element("reasons"), row.evidence);
  element("others").replaceChildren(...row.alternatives.slice(0, 5).map((text, i) => {
    const button = document.createElement("button");
    button.type = "button"; button.append(plain(text) + " ");
    button.append(Object.assign(document.createElement("kbd"), {textContent: i + 1}));
    button.onclick = () => say({kind: "confirm", place: row.place, said: text});
    return button;
  }));
  element("accept").disabled = !row.text || row.value === null;
}

// Two figures of the standard error, and the measurement to the same place.
function measured(row) {
  const places = row.measured_std > 0 ? Math.min(Math.max(1 - Math.floor(Math.log10(row.measured_std)), 0), 6) : 3;
  return `${row.measured.toFixed(places)} ± ${row.measured_std.toFixed(places)}`;
}

function pick(row) {
  current = row; element("refused").textContent = ""; typed("");
  list(); card(); view.show(row);
  element("rows").querySelector('[aria-current="true"]')?.scrollIntoView({block: "nearest"});
}

function typed(text) { element("typed").value = text; keep(); }

function keep() {
  const draft = {sheet: content.sheet.name, place: current?.place, text: element("typed").value};
  localStorage.setItem(DRAFT, JSON.stringify(draft));
}

// Go on with the figure that something was half typed for.
function resume() {
  const draft = JSON.parse(localStorage.getItem(DRAFT) || "null");
  const row = draft?.text && draft.sheet === content.sheet.name && content.rows.find(each => same(each, draft));
  if (row) { current = row; draw(); element("typed").value = draft.text; }
}

function step(by) {
  const at = content.rows.findIndex(row => same(row, current));
  const next = content.rows[Math.min(Math.max(at + by, 0), content.rows.length - 1)];
  if (next) pick(next);
}

// After an answer: the first figure that nobody has looked at yet.
function onward(before) {
  const rows = content.rows, at = before.findIndex(row => same(row, current));
  const left = before.slice(at + 1).concat(before.slice(0, at)).map(old => rows.find(row => same(row, old)));
  const next = left.find(row => row && !settled(row) && row.status !== "agreed") || left.find(row => row && !settled(row));
  if (next) pick(next); else draw();
}

async function send(path, body) {
  if (busy) return null;
  busy = true;
  element("refused").textContent = "";
  try {
    const answer = await fetch(path, {method: "POST", headers: {"content-type": "application/json"}, body: JSON.stringify(body || {})});
    const told = await answer.json();
    if (told.refused) { element("refused").textContent = told.refused; return null; }
    return told;
  } catch { element("refused").textContent = "The program does not answer; start digitize review again. What you said is kept."; return null; }
  finally { busy = false; }
}

async function say(statement) {
  const before = content.rows;
  const told = await send("say", {...statement, by: element("name").value, version: content.version});
  if (!told) return false;
  content = told.content; fill(element("changed"), told.changed);
  typed("");
  draw();
  if (statement.kind === "confirm" || statement.kind === "strike") onward(before);
  return true;
}

async function turn(path) {
  const told = await send(path);
  if (told) { content = told.content; fill(element("changed"), told.changed); draw(); }
}

function pointing(wanted) {
  mode = mode === wanted ? null : wanted; ends = null;
  for (const id of ["add", "known"]) element(id).setAttribute("aria-pressed", mode === id ? "true" : "false");
  view.point(mode);
  element("pointing").textContent = mode ? "Set the first end: click it, or move it under the cross with the arrow keys and press Space." : "";
  if (mode) element("canvas").focus();
}

function pointed(points) {
  if (points.length === 1) { element("pointing").textContent = "Now the second end."; return; }
  ends = points;
  element("pointing").textContent = mode === "add" ? "Write what the print says of this length, then confirm it." : "Write the length you measured, such as 7.5in or 190.5mm, then confirm it.";
  element("typed").disabled = false; element("typed").focus();
}

element("form").onsubmit = async event => {
  event.preventDefault();
  const said = element("typed").value;
  if (mode && ends) { if (await say({kind: mode, first: ends[0], second: ends[1], said})) pointing(mode); }
  else if (current) await say({kind: "confirm", place: current.place, said});
};
const accept = () => current && !element("accept").disabled && say({kind: "confirm", place: current.place, said: current.text});
const strike = () => current && say({kind: "strike", place: current.place});

async function write() {
  element("pointing").textContent = "Writing the files …";
  const told = await send("export");
  element("pointing").textContent = told ? `Written into ${told.folder}: ${told.written.join(", ")}` : "";
}

function toggle(id, key, apply) {
  const button = element(id);
  const set = on => { button.setAttribute("aria-pressed", on ? "true" : "false"); localStorage.setItem(key, on ? "1" : "0"); apply(on, button); };
  const kept = localStorage.getItem(key);
  set(kept === null ? (id === "keys" || matchMedia("(prefers-color-scheme: dark)").matches) : kept === "1");
  button.onclick = () => set(button.getAttribute("aria-pressed") !== "true");
}
toggle("dark", DARK, on => document.documentElement.classList.toggle("dark", on));
toggle("keys", KEYS, (on, button) => { button.textContent = on ? "Letter keys on" : "Letter keys off"; });

Object.entries({undo: () => turn("undo"), redo: () => turn("redo"), add: () => pointing("add"), known: () => pointing("known"),
  export: write, accept, strike, next: () => step(1), previous: () => step(-1)}).forEach(([id, work]) => { element(id).onclick = work; });
const LETTERS = {u: "undo", r: "redo", a: "add", l: "known", w: "export", d: "dark", x: "strike", n: "next", p: "previous"};

addEventListener("keydown", event => {
  if (event.key === "Escape") { if (mode) pointing(mode); document.activeElement.blur(); return; }
  if (event.target.matches("input") || event.altKey || event.metaKey) return;
  if (event.ctrlKey) {
    const name = {z: "undo", y: "redo"}[event.key];
    if (name) { event.preventDefault(); element(name).click(); }
    return;
  }
  if (event.key === "Enter" && !event.target.matches("button, a")) { event.preventDefault(); accept(); return; }
  if (element("keys").getAttribute("aria-pressed") !== "true") return;
  const digit = Number(event.key);
  if (digit >= 1 && digit <= 5) element("others").children[digit - 1]?.click();
  else if (event.key === "t") { event.preventDefault(); element("typed").focus(); }
  else if (LETTERS[event.key]) { event.preventDefault(); element(LETTERS[event.key]).click(); }
});

element("name").onchange = () => localStorage.setItem(NAME, element("name").value);
const measure = () => document.documentElement.style.setProperty("--header", `${document.querySelector("header").offsetHeight}px`);
addEventListener("resize", measure);

async function load() { content = await (await fetch("content")).json(); }

await load();
element("drawer").hidden = !content.drawer;
element("name").value = localStorage.getItem(NAME) || content.by;
draw(); measure(); resume();
element("typed").oninput = keep;
view.open(content.sheet);
if (current) view.show(current);
new EventSource("changes").onmessage = async event => {
  if (Number(event.data) > content.version && !busy) { await load(); fill(element("changed"), ["Changed in another window."]); draw(); }
};
document.body.dataset.ready = "yes";
