// What every page does live.

document.documentElement.classList.add("scripted");
for (const form of document.querySelectorAll("[data-at-once]")) {
  form.addEventListener("change", () => form.requestSubmit());
}

// A job that is done while a person watches, or before its page was there to be watched, leads on
// to what it found; one that is looked up among the others, or come back to, does not.

let watched = document.querySelector("#job[hx-get]") !== null;

function isJustBegun() {
  const [arrival] = performance.getEntriesByType("navigation");
  const before = document.referrer && new URL(document.referrer).pathname;
  return arrival?.type === "navigate" && before !== "" && before !== "/jobs";
}

function goOnward() {
  const onward = document.querySelector("#onward");
  if (watched && onward) {
    watched = false;
    location.assign(onward.href);
  }
}

if (document.querySelector("#job #onward")) {
  watched = isJustBegun();
  goOnward();
}
document.addEventListener("htmx:after:swap", goOnward);

// A file that is dropped anywhere on the page or pasted is chosen in the field that asks for one.

const wanting = document.querySelector("[data-dropped]");

function take(event, { files }) {
  if (!files.length) return;
  event.preventDefault();
  wanting.files = files;
  wanting.scrollIntoView();
  wanting.focus();
}

if (wanting) {
  document.addEventListener("paste", (event) => take(event, event.clipboardData));
  document.addEventListener("dragover", (event) => event.preventDefault());
  document.addEventListener("drop", (event) => take(event, event.dataTransfer));
}

// The paper follows the kit or the range that is chosen, for most of each was swatched on one, until
// a person chooses the paper. It is set before the form asks.

document.addEventListener(
  "change",
  ({ target }) => {
    const paper = target.form?.elements.paper;
    const wanted = target.selectedOptions?.[0]?.dataset.paper;
    if (target === paper) {
      paper.dataset.chosen = "by hand";
    } else if (paper && wanted && !paper.dataset.chosen) {
      paper.value = wanted;
    }
  },
  { capture: true },
);

// One patch dragged onto another is laid over it.

const touched = (address) => new URL(address, location.href).searchParams.get("wanted");
const patchUnder = ({ target }) => target.closest?.('main a[href^="/color?wanted="]');

document.addEventListener("dragover", (event) => patchUnder(event) && event.preventDefault());
document.addEventListener("drop", (event) => {
  const below = patchUnder(event);
  const dragged = event.dataTransfer.getData("text/uri-list");
  if (below && dragged.startsWith(`${location.origin}/color?`) && dragged !== below.href) {
    event.preventDefault();
    const recipe = `${touched(below.href)}; ${touched(dragged)}`;
    location.assign(`/lay?${new URLSearchParams({ recipe })}`);
  }
});
