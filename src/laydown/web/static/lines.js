// The lines of a list of colors: one more when it is wanted, a picked color into the next, and what
// was typed kept in this tab until it has become a lesson, for an error must not cost twenty lines.

const DRAFT = "lines of a lesson";
const form = document.querySelector("form[data-lines]");
const part = (name) => document.querySelector(`[data-line="${name}"]`);
const lines = () => [...form.querySelectorAll("table.lines tbody tr")];

function addLine() {
  const last = lines().at(-1);
  const number = Number(last.querySelector("th").textContent) + 1;
  const line = last.cloneNode(true);
  line.querySelector("th").textContent = number;
  for (const field of line.querySelectorAll("input, select")) {
    field.value = "";
    field.setAttribute("aria-label", field.getAttribute("aria-label").replace(/\d+$/, number));
  }
  last.after(line);
  return line;
}

function keep(sent) {
  const fields = [...new FormData(form)].filter(([, value]) => typeof value === "string");
  sessionStorage.setItem(DRAFT, JSON.stringify({ fields, sent }));
}

function restore({ fields }) {
  const places = new Map();
  for (const [name, value] of fields) {
    const place = places.get(name) ?? 0;
    places.set(name, place + 1);
    const found = () => form.querySelectorAll(`[name="${name}"]`)[place];
    if (!found()) addLine();
    if (found()) found().value = value;
  }
  part("restored").hidden = !fields.some(([name, value]) => name !== "paper" && value);
}

function start() {
  const draft = JSON.parse(sessionStorage.getItem(DRAFT) ?? "null");
  if (draft) restore(draft);
  form.addEventListener("input", () => keep(false));
  form.addEventListener("submit", () => keep(true));
  part("anew").addEventListener("click", () => {
    sessionStorage.removeItem(DRAFT);
    form.reset();
    part("restored").hidden = true;
  });
  part("more").addEventListener("click", (event) => {
    event.preventDefault();
    addLine().querySelector("input").focus();
  });
  part("picked").addEventListener("change", ({ target }) => {
    const empty = (line) => !line.querySelector('[data-line="color"]').value;
    const line = lines().find(empty) ?? addLine();
    line.querySelector('[data-line="color"]').value = target.value;
    keep(false);
  });
}

if (form) {
  start();
} else if (JSON.parse(sessionStorage.getItem(DRAFT) ?? "null")?.sent) {
  sessionStorage.removeItem(DRAFT); // it has become the lesson of this page
}
