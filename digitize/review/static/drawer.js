// The drawer: every sheet with its small picture, found by the words and sizes that digitize find takes.
const element = id => document.getElementById(id);
const DARK = "tracecloth-review-dark", form = element("form");
let shown = 0, asked = 0;

function made(tag, text, className) {
  const node = document.createElement(tag);
  if (text !== undefined) node.textContent = text;
  if (className) node.className = className;
  return node;
}

function counts(states) {
  const line = made("p", undefined, "counts");
  for (const [state, count] of Object.entries(states)) line.append(made("span", `${count} ${state}`, `state ${state}`));
  return line;
}

function card(sheet) {
  const item = made("li"), heading = made("h3"), picture = made("img");
  picture.src = `small/${sheet.key}.jpg`; picture.loading = "lazy"; picture.decoding = "async";
  picture.alt = sheet.title_block.length ? `Small picture: ${sheet.title_block[0]}` : `Small picture of ${sheet.file}`;
  picture.onerror = () => picture.remove();
  const name = sheet.archived ? made("span", sheet.folder) : Object.assign(made("a", sheet.folder), {href: `sheet/${sheet.key}/`});
  heading.append(name);
  item.append(picture, heading, ...sheet.title_block.map(line => made("p", line)), counts(sheet.states));
  if (sheet.archived) item.append(made("p", "In an archive: to be looked at, not to be changed.", "quiet"));
  if (sheet.found.length) {
    const found = made("ul", undefined, "found");
    found.append(...sheet.found.map(line => made("li", line)));
    item.append(found);
  }
  return item;
}

function query() {
  return new URLSearchParams([...new FormData(form)].map(([name, text]) => [name, text.trim()]).filter(([, text]) => text));
}

async function find(more = false) {
  const number = ++asked, words = query();
  history.replaceState(null, "", words.size ? `?${words}` : location.pathname);
  if (more) words.set("skip", shown);
  let told;
  try { told = await (await fetch(`sheets?${words}`)).json(); }
  catch { element("refused").textContent = "The program does not answer; start digitize review again."; return; }
  if (number !== asked) return; // a later question was asked meanwhile
  element("refused").textContent = told.refused || "";
  if (told.refused) return;
  const cards = told.sheets.map(card);
  if (more) element("sheets").append(...cards); else element("sheets").replaceChildren(...cards);
  shown = element("sheets").children.length;
  element("next").hidden = !told.more;
  element("heading").textContent = told.more ? `The first ${shown} sheets` : shown === 1 ? "1 sheet" : shown ? `${shown} sheets` : "No such sheet";
  if (more) cards[0]?.querySelector("a")?.focus();
}

function dark(on) {
  document.documentElement.classList.toggle("dark", on);
  element("dark").setAttribute("aria-pressed", on ? "true" : "false");
  localStorage.setItem(DARK, on ? "1" : "0");
}

const kept = localStorage.getItem(DARK);
dark(kept === null ? matchMedia("(prefers-color-scheme: dark)").matches : kept === "1");
element("dark").onclick = () => dark(element("dark").getAttribute("aria-pressed") !== "true");
form.onsubmit = event => { event.preventDefault(); find(); };
element("state").onchange = () => find();
element("clear").onclick = () => { form.reset(); find(); element("words").focus(); };
element("next").onclick = () => find(true);

for (const [name, text] of new URLSearchParams(location.search)) if (form.elements[name]) form.elements[name].value = text;
element("more").open = [...element("more").querySelectorAll("input")].some(input => input.value);
const content = await (await fetch("drawer")).json();
element("title").textContent = content.name;
document.title = `Drawer: ${content.name}`;
element("total").append(`${content.sheets} sheets`, counts(content.states));
await find();
document.body.dataset.ready = "yes";
