// A mark on a picture that is moved by hand, pen or keyboard; and pictures from files to put it on.

export const HALF = 4; // half the side of the mark's square, in the picture's own pixels

// Draw the mark's square, dark on light, so that it is seen on any picture.
export function drawMark(pen, { x, y }) {
  for (const [width, shade] of [[5, "#fff"], [2, "#000"]]) {
    pen.lineWidth = width;
    pen.strokeStyle = shade;
    pen.strokeRect(x - HALF - 2, y - HALF - 2, 2 * HALF + 4, 2 * HALF + 4);
  }
}

// Open a picture and make the canvas fit it, at most so many pixels long; null for what is none.
export async function pictureOn(canvas, file, longest) {
  let picture;
  try {
    picture = await createImageBitmap(file);
  } catch {
    return null;
  }
  const scale = Math.min(1, longest / Math.max(picture.width, picture.height));
  canvas.width = Math.max(1, Math.round(picture.width * scale));
  canvas.height = Math.max(1, Math.round(picture.height * scale));
  return picture;
}

// Let a mark be moved on a canvas: `moved` is told each new place, `taken` where one is chosen.
export function marking(canvas, { moved, taken }) {
  let mark = { x: 0, y: 0 };

  function move(x, y) {
    mark = {
      x: Math.round(Math.min(canvas.width - 1, Math.max(0, x))),
      y: Math.round(Math.min(canvas.height - 1, Math.max(0, y))),
    };
    moved(mark);
  }

  canvas.addEventListener("pointerdown", (event) => {
    const box = canvas.getBoundingClientRect();
    move(((event.clientX - box.left) * canvas.width) / box.width, ((event.clientY - box.top) * canvas.height) / box.height);
    taken(mark);
  });

  canvas.addEventListener("keydown", (event) => {
    const stride = event.shiftKey ? 20 : 2;
    const moves = { ArrowLeft: [-stride, 0], ArrowRight: [stride, 0], ArrowUp: [0, -stride], ArrowDown: [0, stride] };
    if (event.key in moves) {
      move(mark.x + moves[event.key][0], mark.y + moves[event.key][1]);
    } else if (event.key === "Enter" || event.key === " ") {
      taken(mark);
    } else {
      return;
    }
    event.preventDefault();
  });

  return move;
}
