// The sheet on a canvas: tiles at the size that is looked at, marks over them, two-point measuring.
const TILE = 512, MOST_TILES = 300, FIGURE_SHARE = 0.7;
const LEAST_LETTER_PX = 22, LARGEST_LETTER_PX = 60; // height of a figure's letters on the screen
const MARK_PX = 3; // pen of the marks, in screen pixels

export class SheetView {
  constructor(canvas, onPick, onPoints) {
    Object.assign(this, {canvas, onPick, onPoints, zoom: 1, x: 0, y: 0, rows: [], tiles: new Map(), points: null});
    this.context = canvas.getContext("2d");
    new ResizeObserver(() => this.resize()).observe(canvas);
    canvas.addEventListener("wheel", event => this.wheel(event), {passive: false});
    canvas.addEventListener("pointerdown", event => this.down(event));
    canvas.addEventListener("pointermove", event => this.move(event));
    for (const end of ["pointerup", "pointercancel"]) canvas.addEventListener(end, event => this.up(event));
    canvas.addEventListener("keydown", event => this.key(event));
    this.fingers = new Map();
  }

  open(sheet) { this.sheet = sheet; this.resize(); this.fit(); }

  resize() {
    const box = this.canvas.getBoundingClientRect(), ratio = window.devicePixelRatio || 1;
    this.canvas.width = Math.round(box.width * ratio); this.canvas.height = Math.round(box.height * ratio);
    this.ratio = ratio; this.draw();
  }

  fit() {
    this.zoom = Math.min(this.canvas.width / this.sheet.width_px, this.canvas.height / this.sheet.height_px);
    this.x = (this.sheet.width_px - this.canvas.width / this.zoom) / 2;
    this.y = (this.sheet.height_px - this.canvas.height / this.zoom) / 2;
    this.draw();
  }

  // Bring a figure to the middle with what it measures around it, its letters large enough to read.
  show(row) {
    this.current = row;
    if (row && this.sheet) {
      const letters = row.height_px || 30;
      const readable = this.ratio * LEAST_LETTER_PX / letters, large = this.ratio * LARGEST_LETTER_PX / letters;
      const [x0, y0, x1, y1] = box(row.ends ? [...row.quad, ...row.ends] : row.quad);
      const whole = FIGURE_SHARE * Math.min(this.canvas.width / (x1 - x0 + letters), this.canvas.height / (y1 - y0 + letters));
      this.zoom = Math.min(Math.max(whole, readable), large);
      const [a0, b0, a1, b1] = whole < readable ? box(row.quad) : [x0, y0, x1, y1];
      this.centre((a0 + a1) / 2, (b0 + b1) / 2);
    }
    this.draw();
  }

  centre(x, y) { this.x = x - this.canvas.width / this.zoom / 2; this.y = y - this.canvas.height / this.zoom / 2; }

  point(mode) { this.points = mode ? [] : null; this.canvas.classList.toggle("pointing", Boolean(mode)); this.draw(); }

  at(event) {
    const box = this.canvas.getBoundingClientRect();
    return [this.x + (event.clientX - box.left) * this.ratio / this.zoom, this.y + (event.clientY - box.top) * this.ratio / this.zoom];
  }

  wheel(event) { event.preventDefault(); this.zoomAt(this.at(event), Math.exp(-event.deltaY / 400)); }

  zoomAt([x, y], factor) {
    const zoom = Math.min(Math.max(this.zoom * factor, 0.01), 16 * this.ratio);
    this.x = x - (x - this.x) * this.zoom / zoom; this.y = y - (y - this.y) * this.zoom / zoom;
    this.zoom = zoom; this.draw();
  }

  down(event) {
    this.canvas.setPointerCapture(event.pointerId);
    this.fingers.set(event.pointerId, [event.clientX, event.clientY]);
    this.moved = 0;
  }

  move(event) {
    const before = this.fingers.get(event.pointerId);
    if (!before) return;
    const now = [event.clientX, event.clientY];
    if (this.fingers.size === 2) {
      const other = [...this.fingers].find(([id]) => id !== event.pointerId)[1];
      this.zoomAt(this.at({clientX: (now[0] + other[0]) / 2, clientY: (now[1] + other[1]) / 2}),
        Math.hypot(now[0] - other[0], now[1] - other[1]) / Math.max(Math.hypot(before[0] - other[0], before[1] - other[1]), 1));
    } else {
      this.x -= (now[0] - before[0]) * this.ratio / this.zoom; this.y -= (now[1] - before[1]) * this.ratio / this.zoom;
    }
    this.moved += Math.hypot(now[0] - before[0], now[1] - before[1]);
    this.fingers.set(event.pointerId, now);
    this.draw();
  }

  up(event) {
    const clicked = this.fingers.delete(event.pointerId) && this.moved < 5 && event.type === "pointerup";
    if (clicked) this.click(this.at(event));
  }

  click(point) {
    if (this.points) {
      this.points.push(point);
      this.draw();
      this.onPoints(this.points.map(each => this.source(each)));
      return;
    }
    const hit = this.rows.find(row => inside(point, row.quad, 8 / this.zoom));
    if (hit) this.onPick(hit);
  }

  source([x, y]) {
    const [a, b, c] = this.sheet.source_from_level, w = c[0] * x + c[1] * y + c[2];
    return [(a[0] * x + a[1] * y + a[2]) / w, (b[0] * x + b[1] * y + b[2]) / w];
  }

  key(event) {
    const step = 80 * this.ratio / this.zoom;
    const middle = [this.x + this.canvas.width / this.zoom / 2, this.y + this.canvas.height / this.zoom / 2];
    const moves = {ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step]};
    if (moves[event.key]) { this.x += moves[event.key][0]; this.y += moves[event.key][1]; }
    else if (event.key === "+" || event.key === "=") this.zoomAt(middle, 1.3);
    else if (event.key === "-") this.zoomAt(middle, 1 / 1.3);
    else if (event.key === "0") this.fit();
    else if (event.key === " " && this.points) this.click(middle);
    else return;
    event.preventDefault(); event.stopPropagation();
    this.draw();
  }

  draw() {
    if (this.waiting || !this.sheet) return;
    this.waiting = true;
    requestAnimationFrame(() => { this.waiting = false; this.paint(); });
  }

  paint() {
    const {context, canvas, zoom} = this;
    context.setTransform(1, 0, 0, 1, 0, 0);
    context.fillStyle = "#777"; context.fillRect(0, 0, canvas.width, canvas.height);
    context.setTransform(zoom, 0, 0, zoom, -this.x * zoom, -this.y * zoom);
    this.paintTiles();
    for (const row of this.rows) this.mark(row);
    if (this.current) this.frame(this.current);
    if (this.points) this.paintPoints();
  }

  paintTiles() {
    const wanted = Math.max(0, Math.min(this.sheet.levels - 1, Math.floor(Math.log2(1 / this.zoom))));
    for (let level = this.sheet.levels - 1; level >= wanted; level--) {
      const size = TILE * 2 ** level;
      const from = [Math.max(0, Math.floor(this.x / size)), Math.max(0, Math.floor(this.y / size))];
      const to = [Math.min(this.sheet.width_px, this.x + this.canvas.width / this.zoom), Math.min(this.sheet.height_px, this.y + this.canvas.height / this.zoom)];
      if (level !== wanted && level !== this.sheet.levels - 1) continue;
      for (let row = from[1]; row * size < to[1]; row++)
        for (let column = from[0]; column * size < to[0]; column++) this.tile(level, column, row, size);
    }
  }

  tile(level, column, row, size) {
    const key = `${level}/${column}/${row}`;
    let image = this.tiles.get(key);
    if (!image) {
      image = new Image();
      image.onload = () => this.draw();
      image.src = `tile/${key}.jpg`;
      this.tiles.set(key, image);
      if (this.tiles.size > MOST_TILES) this.tiles.delete(this.tiles.keys().next().value);
    }
    if (image.complete && image.naturalWidth)
      this.context.drawImage(image, column * size, row * size, image.naturalWidth * 2 ** level, image.naturalHeight * 2 ** level);
  }

  pen(colour, width = MARK_PX) { this.context.strokeStyle = colour; this.context.lineWidth = width * this.ratio / this.zoom; }

  path(points, close) {
    this.context.beginPath();
    points.forEach((point, i) => i ? this.context.lineTo(...point) : this.context.moveTo(...point));
    if (close) this.context.closePath();
    this.context.stroke();
  }

  // Told apart by shape as well as by colour: a stroke under, a bracket before, a ring round, a hatched box.
  mark(row) {
    const [a, b, c, d] = row.quad, grow = 3 * this.ratio / this.zoom;
    if (row.status === "agreed") { this.pen("#d6a800", 4); this.path([d, c].map(p => shift(p, a, d, grow))); }
    else if (row.status === "unproven") { this.pen("#1d4f91"); this.path([toward(a, b, 6), a, d, toward(d, c, 6)].map(p => shift(p, a, b, -grow))); }
    else if (row.status === "disputed") { this.pen("#c01e14"); this.ring(row.quad); }
    else { this.pen("#5b3a86", 2); this.path(row.quad, true); for (let t = 0.2; t < 1; t += 0.2) this.path([mix(a, b, t), mix(d, c, t - 0.15)]); }
  }

  ring([a, b, c, d]) {
    const centre = mix(a, c, 0.5), w = Math.hypot(b[0] - a[0], b[1] - a[1]), h = Math.hypot(d[0] - a[0], d[1] - a[1]);
    this.context.beginPath();
    this.context.ellipse(...centre, w * 0.62 + 4, h * 0.8 + 4, Math.atan2(b[1] - a[1], b[0] - a[0]), 0, 2 * Math.PI);
    this.context.stroke();
  }

  frame(row) {
    this.context.setLineDash([10 * this.ratio / this.zoom, 5 * this.ratio / this.zoom]);
    this.pen("#0b57a4", 3);
    const [a, b, c, d] = row.quad, grow = 8 * this.ratio / this.zoom;
    this.path([grown(a, b, d, grow), grown(b, a, c, grow), grown(c, d, b, grow), grown(d, c, a, grow)], true);
    if (row.ends) { this.pen("#0b57a4", 2); this.path(row.ends); }
    this.context.setLineDash([]);
  }

  paintPoints() {
    this.pen("#0b57a4", 3);
    if (this.points.length === 2) this.path(this.points);
    const arm = 9 * this.ratio / this.zoom;
    const middle = [this.x + this.canvas.width / this.zoom / 2, this.y + this.canvas.height / this.zoom / 2];
    for (const [x, y] of [...this.points, middle]) { this.path([[x - arm, y], [x + arm, y]]); this.path([[x, y - arm], [x, y + arm]]); }
  }
}

const box = points => [Math.min(...points.map(p => p[0])), Math.min(...points.map(p => p[1])), Math.max(...points.map(p => p[0])), Math.max(...points.map(p => p[1]))];
const mix = (p, q, t) => [p[0] + (q[0] - p[0]) * t, p[1] + (q[1] - p[1]) * t];
const unit = (p, q) => { const l = Math.hypot(q[0] - p[0], q[1] - p[1]) || 1; return [(q[0] - p[0]) / l, (q[1] - p[1]) / l]; };
const toward = (p, q, length) => { const u = unit(p, q); return [p[0] + u[0] * length, p[1] + u[1] * length]; };
const shift = (p, a, b, by) => { const u = unit(a, b); return [p[0] + u[0] * by, p[1] + u[1] * by]; };
const grown = (p, one, other, by) => { const u = unit(p, one), v = unit(p, other); return [p[0] - (u[0] + v[0]) * by, p[1] - (u[1] + v[1]) * by]; };

function inside([x, y], [a, b, , d], slack) {
  const u = unit(a, b), v = unit(a, d), s = (x - a[0]) * u[0] + (y - a[1]) * u[1], t = (x - a[0]) * v[0] + (y - a[1]) * v[1];
  return s > -slack && t > -slack && s < Math.hypot(b[0] - a[0], b[1] - a[1]) + slack && t < Math.hypot(d[0] - a[0], d[1] - a[1]) + slack;
}
