// Point at what is of known color in a picture that is to be planned: each place is written, in
// hundredths of width and height, into the field that is sent. Nothing is sent before the form is.

import { drawMark, marking, pictureOn } from "./marking.js";

const part = (name) => document.querySelector(`[data-pick="${name}"]`);
const LONGEST = 900; // pixels: the picture is shown at most so large

function start() {
  const canvas = part("canvas");
  const places = part("places");
  const told = part("told");
  const pen = canvas.getContext("2d");
  let picture = null;

  function draw(mark) {
    pen.drawImage(picture, 0, 0, canvas.width, canvas.height);
    for (const place of places.value.split(";").filter((text) => text.includes("%"))) {
      const [x, y] = place.split(",").map((part) => parseFloat(part));
      drawMark(pen, { x: (x * canvas.width) / 100, y: (y * canvas.height) / 100 });
    }
    drawMark(pen, mark);
  }

  function take(mark) {
    const percent = (part, whole) => `${((100 * part) / whole).toFixed(1)}%`;
    const place = `${percent(mark.x, canvas.width)},${percent(mark.y, canvas.height)}`;
    places.value = [places.value.trim(), place].filter(Boolean).join("; ");
    told.textContent = `${told.dataset.taken} ${place}`;
    draw(mark);
  }

  const move = marking(canvas, { moved: draw, taken: take });

  async function show(file) {
    part("work").hidden = false;
    picture = await pictureOn(canvas, file, LONGEST);
    canvas.hidden = picture === null;
    told.textContent = canvas.hidden ? told.dataset.bad : told.dataset.first;
    if (picture) move(canvas.width / 2, canvas.height / 2);
  }

  part("file").addEventListener("change", (event) => {
    if (event.target.files[0]) show(event.target.files[0]);
  });
  const job = Number(part("file").form.elements.job.value);
  if (job) fetch(`/pictures/sent?job=${job}`).then((answer) => answer.blob()).then(show);
}

if (part("canvas")) start();
