// Place a grid on the picture of a card: four corners to drag, or eight numbers to type.
//
// The numbers are what is sent, in the picture's own pixels; the drawing only follows them. Lines
// of a flat card stay straight lines in a picture, so each is drawn from edge to edge, its ends
// taken through the projective map of a square to four corners (Heckbert 1989, section 2.2.3).

const part = (name) => document.querySelector(`[data-grid="${name}"]`);
const SVG = "http://www.w3.org/2000/svg";
const INSET = 0.1; // of the picture, where a new grid begins

function projected([[x0, y0], [x1, y1], [x2, y2], [x3, y3]]) {
  const [dx1, dy1, dx2, dy2] = [x1 - x2, y1 - y2, x3 - x2, y3 - y2];
  const [sx, sy] = [x0 - x1 + x2 - x3, y0 - y1 + y2 - y3];
  const scale = dx1 * dy2 - dx2 * dy1;
  const g = (sx * dy2 - dx2 * sy) / scale;
  const h = (dx1 * sy - sx * dy1) / scale;
  const [a, b, d, e] = [x1 - x0 + g * x1, x3 - x0 + h * x3, y1 - y0 + g * y1, y3 - y0 + h * y3];
  return (u, v) => {
    const depth = g * u + h * v + 1;
    return [(a * u + b * v + x0) / depth, (d * u + e * v + y0) / depth];
  };
}

function start(form) {
  const picture = part("picture");
  const drawing = part("drawing");
  const fields = { x: [...form.querySelectorAll('[name="x"]')], y: [...form.querySelectorAll('[name="y"]')] };
  const side = (name) => Math.min(40, Math.max(1, Number(form.elements[name].value) || 1));

  function corners() {
    const found = fields.x.map((field, place) => [field.value, fields.y[place].value]);
    return found.flat().includes("") ? null : found.map((corner) => corner.map(Number));
  }

  function add(name, attributes) {
    const made = document.createElementNS(SVG, name);
    for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
    drawing.append(made);
    return made;
  }

  function draw() {
    drawing.replaceChildren();
    const found = corners();
    if (!found || !picture.naturalWidth) return;
    drawing.setAttribute("viewBox", `0 0 ${picture.naturalWidth} ${picture.naturalHeight}`);
    const pen = picture.naturalWidth / Math.max(1, picture.clientWidth);
    const map = projected(found);
    let path = "";
    const line = (from, to) => { path += `M${map(...from).join(" ")}L${map(...to).join(" ")}`; };
    for (let row = 0; row <= side("rows"); row += 1) line([0, row / side("rows")], [1, row / side("rows")]);
    for (let column = 0; column <= side("columns"); column += 1) line([column / side("columns"), 0], [column / side("columns"), 1]);
    add("path", { d: path, stroke: "#fff", "stroke-width": 3 * pen, fill: "none" });
    add("path", { d: path, stroke: "#000", "stroke-width": pen, fill: "none" });
    found.forEach(([x, y], place) => {
      add("circle", { cx: x, cy: y, r: 22 * pen, fill: "#000", "fill-opacity": 0.01, "data-place": place });
      add("circle", { cx: x, cy: y, r: 9 * pen, fill: "#fff", stroke: "#000", "stroke-width": 2 * pen, "data-place": place });
      const number = add("text", { x, y: y + 4 * pen, "font-size": 12 * pen, "text-anchor": "middle", fill: "#000", "data-place": place });
      number.textContent = place + 1;
    });
  }

  function put(place, x, y) {
    fields.x[place].value = Math.round(Math.min(picture.naturalWidth, Math.max(0, x)));
    fields.y[place].value = Math.round(Math.min(picture.naturalHeight, Math.max(0, y)));
    draw();
  }

  function begin() {
    const [right, bottom] = [picture.naturalWidth, picture.naturalHeight];
    [[INSET, INSET], [1 - INSET, INSET], [1 - INSET, 1 - INSET], [INSET, 1 - INSET]].forEach(([u, v], place) => put(place, u * right, v * bottom));
  }

  function clear() {
    for (const field of [...fields.x, ...fields.y]) field.value = "";
    draw();
  }

  function show(visible) {
    part("work").hidden = !visible;
    part("begin-row").hidden = !visible;
    part("told").textContent = visible ? "" : part("told").dataset.bad;
  }

  let dragged = null;
  drawing.addEventListener("pointerdown", (event) => {
    if (!("place" in event.target.dataset)) return;
    dragged = Number(event.target.dataset.place);
    drawing.setPointerCapture(event.pointerId);
    event.preventDefault();
  });
  drawing.addEventListener("pointermove", (event) => {
    if (dragged === null) return;
    const box = picture.getBoundingClientRect();
    put(dragged, ((event.clientX - box.left) * picture.naturalWidth) / box.width, ((event.clientY - box.top) * picture.naturalHeight) / box.height);
  });
  for (const over of ["pointerup", "pointercancel"]) drawing.addEventListener(over, () => { dragged = null; });

  picture.addEventListener("load", () => { show(true); draw(); });
  picture.addEventListener("error", () => show(false));
  part("file").addEventListener("change", (event) => {
    const [file] = event.target.files;
    if (!file) return;
    URL.revokeObjectURL(picture.src);
    clear();
    picture.src = URL.createObjectURL(file);
  });
  part("begin").addEventListener("click", begin);
  part("clear").addEventListener("click", clear);
  form.addEventListener("input", draw);
  addEventListener("resize", draw);
  if (picture.complete) draw();
}

const form = part("form");
if (form) start(form);
