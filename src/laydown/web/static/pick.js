// Pick a wanted color from a photograph: bare paper first, for the light, then the color.
//
// All in this page; the photograph is sent nowhere. Both are means over a small square, in linear
// light; the color is scaled so that the paper comes out white. What comes of it is written as
// #rrggbb, which laydown takes for a screen's estimate.

import { HALF, drawMark, marking, pictureOn } from "./marking.js";

const part = (name) => document.querySelector(`[data-pick="${name}"]`);
const LONGEST = 900; // pixels: the picture is shown, and read, at most so large

const linear = (byte) => {
  const share = byte / 255;
  return share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4;
};
const encoded = (share) => {
  const held = Math.min(1, Math.max(0, share));
  return Math.round(255 * (held <= 0.0031308 ? 12.92 * held : 1.055 * held ** (1 / 2.4) - 0.055));
};

function start() {
  const canvas = part("canvas");
  const told = part("told");
  const wanted = document.querySelector('[data-picked], input[name="wanted"]');
  const pen = canvas.getContext("2d", { willReadFrequently: true });
  let picture = null;
  let white = null;

  function draw(mark) {
    pen.drawImage(picture, 0, 0, canvas.width, canvas.height);
    drawMark(pen, mark);
  }

  function mean(mark) {
    pen.drawImage(picture, 0, 0, canvas.width, canvas.height);
    const side = 2 * HALF + 1;
    const { data } = pen.getImageData(mark.x - HALF, mark.y - HALF, side, side);
    const sum = [0, 0, 0];
    let count = 0;
    for (let place = 0; place < data.length; place += 4) {
      if (data[place + 3] === 0) continue;
      for (let channel = 0; channel < 3; channel += 1) sum[channel] += linear(data[place + channel]);
      count += 1;
    }
    return sum.map((total) => total / Math.max(1, count));
  }

  function take(mark) {
    const seen = mean(mark);
    draw(mark);
    if (part("white").checked) {
      white = seen;
      part("color").checked = true;
      told.textContent = told.dataset.white;
    } else if (white === null) {
      told.textContent = told.dataset.first;
    } else {
      const scaled = seen.map((share, channel) => encoded(share / Math.max(white[channel], 1e-4)));
      choose(`#${scaled.map((byte) => byte.toString(16).padStart(2, "0")).join("")}`);
      told.textContent = `${told.dataset.color} ${wanted.value}`;
    }
  }

  function choose(color) {
    wanted.value = color;
    wanted.dispatchEvent(new Event("change", { bubbles: true }));
  }

  const move = marking(canvas, { moved: draw, taken: take });

  async function open(file) {
    if (!file?.type.startsWith("image/")) return;
    part("canvas").closest("details").open = true;
    part("work").hidden = false;
    canvas.hidden = true; // nothing can be picked before the picture is there
    picture = await pictureOn(canvas, file, LONGEST);
    canvas.hidden = picture === null;
    if (canvas.hidden) {
      told.textContent = told.dataset.bad;
      return;
    }
    white = null;
    part("white").checked = true;
    told.textContent = told.dataset.first;
    move(canvas.width / 2, canvas.height / 2);
  }

  part("file").addEventListener("change", ({ target }) => open(target.files[0]));
  document.addEventListener("paste", ({ clipboardData }) => open(clipboardData.files[0]));
  document.addEventListener("dragover", (event) => event.preventDefault());
  document.addEventListener("drop", (event) => {
    event.preventDefault();
    open(event.dataTransfer.files[0]);
  });
  part("screen").hidden = false;
  part("spot").addEventListener("change", ({ target }) => choose(target.value));
}

if (part("canvas")) start();
