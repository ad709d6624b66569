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
