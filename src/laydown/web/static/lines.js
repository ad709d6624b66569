// The lines of a list of colors: one more when it is wanted, and a picked color into the next.

const more = document.querySelector('[data-line="more"]');
const picked = document.querySelector('[data-line="picked"]');
const lines = () => [...document.querySelectorAll("table.lines tbody tr")];

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

more?.addEventListener("click", (event) => {
  event.preventDefault();
  addLine().querySelector("input").focus();
});

picked?.addEventListener("change", () => {
  const empty = (line) => !line.querySelector('[data-line="color"]').value;
  const line = lines().find(empty) ?? addLine();
  line.querySelector('[data-line="color"]').value = picked.value;
});
