// What every page does live: the list of places folds on narrow screens.

const places = document.querySelector("details.places");
const narrow = matchMedia("(max-width: 60rem)");

function fold() {
  places.open = !narrow.matches;
}

if (places) {
  fold();
  narrow.addEventListener("change", fold);
}

// A job that is done while a person watches leads on to what it found; one that was done before,
// or that someone came back to, does not.

let watched = document.querySelector("#job[hx-get]") !== null;

document.addEventListener("htmx:after:swap", () => {
  const onward = document.querySelector("#onward");
  if (watched && onward) {
    watched = false;
    location.assign(onward.href);
  }
});
