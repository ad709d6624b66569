// Choose regions of a plan in its drawing: tap them, or move the mark with the arrow keys and press
// Enter. The numbers in the field are what is sent; what is chosen is hatched after them.

import { drawMark, marking } from "./marking.js";

const part = (name) => document.querySelector(`[data-plan="${name}"]`);
const HATCH = 6; // pixels of a stripe

function start() {
  const canvas = part("canvas");
  const field = part("field");
  const told = part("told");
  const map = part("map");
  const pen = canvas.getContext("2d");
  let numbers = null; // of the region that each pixel belongs to
  let mark = null;

  const chosen = () => [...new Set((field.value.match(/\d+/g) ?? []).map(Number))];

  function read() {
    canvas.width = map.naturalWidth;
    canvas.height = map.naturalHeight;
    const copy = new OffscreenCanvas(canvas.width, canvas.height).getContext("2d");
    copy.drawImage(map, 0, 0);
    const { data } = copy.getImageData(0, 0, canvas.width, canvas.height);
    numbers = new Uint16Array(canvas.width * canvas.height);
    for (let place = 0; place < numbers.length; place += 1) numbers[place] = 256 * data[4 * place] + data[4 * place + 1];
    canvas.hidden = false; // before, a tap would choose nothing
    draw();
  }

  function draw() {
    if (!numbers) return;
    const wanted = new Set(chosen());
    const hatched = pen.createImageData(canvas.width, canvas.height);
    for (let place = 0; wanted.size && place < numbers.length; place += 1) {
      if (!wanted.has(numbers[place])) continue;
      const [x, y] = [place % canvas.width, Math.floor(place / canvas.width)];
      const shade = Math.floor((x + y) / HATCH) % 2 ? 255 : 0;
      hatched.data.set([shade, shade, shade, 170], 4 * place);
    }
    pen.putImageData(hatched, 0, 0);
    if (mark) drawMark(pen, mark);
  }

  const under = ({ x, y }) => numbers?.[y * canvas.width + x] ?? 0;

  function words(number) {
    const row = document.querySelector(`#region-${number}`);
    const cells = row ? [...row.cells].map((cell) => `${cell.dataset.head ?? ""} ${cell.textContent}`.trim()) : [number];
    return cells.filter(Boolean).join(", ");
  }

  function moved(place) {
    mark = place;
    const number = under(mark);
    told.textContent = number ? `${told.dataset.region} ${words(number)}` : told.dataset.none;
    draw();
  }

  function taken() {
    const number = under(mark);
    if (!number) return;
    const before = chosen();
    const now = before.includes(number) ? before.filter((one) => one !== number) : [...before, number];
    field.value = now.join(" ");
    typed();
  }

  function typed() {
    told.textContent = `${told.dataset.chosen} ${chosen().join(", ")}`;
    draw();
  }

  const move = marking(canvas, { moved, taken });
  canvas.addEventListener("focus", () => { if (!mark) move(canvas.width / 2, canvas.height / 2); });
  field.addEventListener("input", typed);
  map.addEventListener("load", read);
  if (map.complete && map.naturalWidth) read();
}

if (part("canvas")) start();
