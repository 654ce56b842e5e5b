// A finding that a link leads to may lie among those that are folded away: unfold them first.
(() => {
  const unfold = () => {
    const there = location.hash.length > 1 && document.getElementById(decodeURIComponent(location.hash.slice(1)));
    const folded = there && there.closest("details");
    if (folded && !folded.open) { folded.open = true; there.scrollIntoView(); }
  };
  window.addEventListener("hashchange", unfold);
  unfold();
})();
"use strict";
(() => {
  const scene = JSON.parse(document.getElementById("scene").textContent);
  for (const part of scene.parts) Object.assign(part, scene.shapes[part.shape]);
  const canvas = document.getElementById("view"), over = document.getElementById("over");
  const el = (id) => document.getElementById(id);
  const say = (text) => { el("said").textContent = text; };
  const gl = canvas.getContext("webgl2", { antialias: true, alpha: false });
  if (!gl) {
    el("noview").hidden = false;
    el("noview").textContent = "This browser cannot draw in space (WebGL 2 is missing or switched off). Everything else on this page works; the pictures in the release show the same things.";
    canvas.hidden = true;
    return;
  }

  const { bytes, faces, edges, parts, strokes } = graphicsOf(gl, scene);

  // ---- what the reader has chosen ------------------------------------------------------------------------------
  const state = {
    around: -35, above: 26, scale: 1, middle: [0, 0, 0], group: -1, hidden: new Set(["liner"]), chosen: -1, pin: null,
    axis: -1, share: 0.5, other: false, apart: 0,
  };
  const LAYERS = [["lid", "lid"], ["lid screws", "its screws"], ["metal", "metal"], ["modules", "modules"], ["fittings", "fittings"], ["screws", "screws"], ["liner", "liner"], ["car", "wheels"], ["bay", "bays"]];
  const present = new Set(scene.items.map((i) => i.layer).concat(scene.lines.map((l) => l.name)));
  const boxes = {};
  for (const [name, text] of LAYERS) {
    if (!present.has(name)) continue;
    const label = document.createElement("label"), tick = document.createElement("input");
    tick.type = "checkbox"; tick.checked = !state.hidden.has(name); tick.dataset.layer = name;
    tick.addEventListener("change", () => { state.hidden[tick.checked ? "delete" : "add"](name); placeAll(); draw(); });
    label.append(tick, " " + text); el("layers").append(label); boxes[name] = tick;
  }
  const visible = (item) => !state.hidden.has(item.layer) && (state.group < 0 || item.group === state.group);

  function placeAll() {
    const rows = parts.map(() => []);
    scene.items.forEach((item, number) => {
      if (!visible(item) && number !== state.chosen) return;
      const m = item.pose;
      rows[item.part].push(m[0], m[1], m[2], m[9], m[3], m[4], m[5], m[10], m[6], m[7], m[8], m[11], ...item.apart, number);
    });
    parts.forEach((part, i) => {
      part.shown = rows[i].length / 16;
      gl.bindBuffer(gl.ARRAY_BUFFER, part.instances);
      gl.bufferData(gl.ARRAY_BUFFER, new Float32Array(rows[i]), gl.DYNAMIC_DRAW);
    });
  }
  const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
  function axes() {
    const a = state.around * Math.PI / 180, b = state.above * Math.PI / 180;
    const out = [Math.sin(a) * Math.cos(b), -Math.cos(a) * Math.cos(b), Math.sin(b)];
    const right = [Math.cos(a), Math.sin(a), 0];
    const up = [out[1] * right[2] - out[2] * right[1], out[2] * right[0] - out[0] * right[2], out[0] * right[1] - out[1] * right[0]];
    return [right, up, out];
  }
  function corners() {
    const found = [];
    for (const [i, g] of scene.groups.entries()) {
      if (state.group >= 0 && i !== state.group) continue;
      for (let k = 0; k < 8; k++) {
        const p = [0, 1, 2].map((n) => ((k >> n) & 1 ? g.high : g.low)[n]), m = g.pose;
        found.push([0, 1, 2].map((r) => m[3 * r] * p[0] + m[3 * r + 1] * p[1] + m[3 * r + 2] * p[2] + m[9 + r]));
      }
    }
    if (state.group < 0) for (const set of scene.lines) if (!state.hidden.has(set.name)) found.push(...set.points);
    return found;
  }
  function reach() {
    const c = corners();
    return [0, 1, 2].map((n) => [Math.min(...c.map((p) => p[n])), Math.max(...c.map((p) => p[n]))]);
  }
  function fit() {
    const ax = axes(), c = corners();
    const span = ax.map((v) => { const d = c.map((p) => dot(v, p)); return [Math.min(...d), Math.max(...d)]; });
    state.middle = [0, 1, 2].map((n) => ax.reduce((sum, v, k) => sum + v[n] * (span[k][0] + span[k][1]) / 2, 0));
    const wide = canvas.clientWidth || 800, tall = canvas.clientHeight || 500;
    state.scale = 0.86 * Math.min(wide / Math.max(span[0][1] - span[0][0], 1), tall / Math.max(span[1][1] - span[1][0], 1));
  }
  const DEPTH = 6000; // mm in front of and behind the middle that are drawn

  let colours = {};
  function readColours() {
    const style = getComputedStyle(document.documentElement), paint = document.createElement("canvas").getContext("2d", { willReadFrequently: true });
    const get = (name) => {
      paint.fillStyle = style.getPropertyValue(name).trim() || "#888"; paint.fillRect(0, 0, 1, 1);
      return [...paint.getImageData(0, 0, 1, 1).data].slice(0, 3).map((v) => v / 255);
    };
    colours = { sheet: get("--sheet"), ink: get("--ink"), accent: get("--accent"), car: get("--faint"), bay: get("--bay"), keep: get("--keep") };
  }

  function matrices() {
    const [r, u, o] = axes(), w = canvas.clientWidth || 1, h = canvas.clientHeight || 1;
    const sx = 2 * state.scale / w, sy = 2 * state.scale / h, sz = -1 / DEPTH;
    return {
      view: new Float32Array([r[0] * sx, u[0] * sy, o[0] * sz, 0, r[1] * sx, u[1] * sy, o[1] * sz, 0, r[2] * sx, u[2] * sy, o[2] * sz, 0, 0, 0, 0, 1]),
      turn: new Float32Array([r[0], u[0], o[0], r[1], u[1], o[1], r[2], u[2], o[2]]),
    };
  }
  function plane() {
    if (state.axis < 0) return [0, 0, 0, 1e9];
    const [low, high] = reach()[state.axis], at = low + (high - low) * state.share, sign = state.other ? -1 : 1;
    const p = [0, 0, 0, sign * at];
    p[state.axis] = sign;
    return p;
  }
  function common(p, m) {
    gl.useProgram(p.made);
    gl.uniformMatrix4fv(p.at.view, false, m.view);
    gl.uniform3fv(p.at.middle, state.middle);
    gl.uniform1f(p.at.apart, state.apart);
    gl.uniform4fv(p.at.cut, plane());
  }
  function drawFaces(m, picking) {
    common(faces, m);
    gl.uniformMatrix3fv(faces.at.turn, false, m.turn);
    gl.uniform1i(faces.at.picking, picking ? 1 : 0);
    gl.uniform1f(faces.at.chosen, state.chosen);
    gl.uniform3fv(faces.at.accent, colours.accent);
    gl.uniform1f(faces.at.nearer, 0);
    for (const one of parts) {
      if (!one.shown) continue;
      gl.uniform3fv(faces.at.low, one.part.low); gl.uniform1f(faces.at.step_, one.part.step);
      gl.uniform3fv(faces.at.paint, one.part.colour);
      gl.bindVertexArray(one.array);
      gl.drawElementsInstanced(gl.TRIANGLES, one.tri, one.kind, 0, one.shown);
    }
  }
  function drawEdges(m, ink, chosen, nearer) {
    common(edges, m);
    gl.uniform4fv(edges.at.ink, ink); gl.uniform1f(edges.at.chosen, chosen); gl.uniform1f(edges.at.nearer, nearer);
    for (const one of parts) {
      if (!one.shown || !one.rim) continue;
      gl.uniform3fv(edges.at.low, one.part.low); gl.uniform1f(edges.at.step_, one.part.step);
      gl.bindVertexArray(one.lines);
      gl.drawElementsInstanced(gl.LINES, one.rim, one.kind, 0, one.shown);
    }
  }
  function drawStrokes(m) {
    common(edges, m);
    gl.uniform4fv(edges.at.cut, [0, 0, 0, 1e9]); gl.uniform1f(edges.at.chosen, -1); gl.uniform1f(edges.at.nearer, 0);
    gl.uniform3fv(edges.at.low, [0, 0, 0]); gl.uniform1f(edges.at.step_, 1); gl.uniform1f(edges.at.apart, 0);
    gl.vertexAttrib4f(1, 1, 0, 0, 0); gl.vertexAttrib4f(2, 0, 1, 0, 0); gl.vertexAttrib4f(3, 0, 0, 1, 0);
    gl.vertexAttrib3f(4, 0, 0, 0); gl.vertexAttrib1f(5, 0);
    for (const one of strokes) {
      if (state.hidden.has(one.set.name) || (state.group >= 0 && one.set.name === "car")) continue;
      gl.uniform4fv(edges.at.ink, [...colours[one.set.colour], 1]);
      gl.bindVertexArray(one.array);
      gl.drawArrays(gl.LINES, 0, one.count);
    }
  }
  function paint() {
    const ratio = Math.min(window.devicePixelRatio || 1, 2);
    const w = Math.max(1, Math.round(canvas.clientWidth * ratio)), h = Math.max(1, Math.round(canvas.clientHeight * ratio));
    if (canvas.width !== w || canvas.height !== h) { canvas.width = w; canvas.height = h; }
    gl.viewport(0, 0, w, h);
    gl.clearColor(...colours.sheet, 1);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    gl.enable(gl.DEPTH_TEST); gl.depthFunc(gl.LEQUAL);
    const m = matrices();
    drawFaces(m, false);
    drawEdges(m, [0.10, 0.12, 0.15, 1], -1, 0.00006);
    drawStrokes(m);
    if (state.chosen >= 0) { gl.disable(gl.DEPTH_TEST); drawEdges(m, [...colours.accent, 1], state.chosen, 0); }
    marks();
  }
  let waiting = false;
  function draw() {
    if (waiting) return;
    waiting = true;
    requestAnimationFrame(() => { waiting = false; paint(); });
  }

  // ---- axes, a scale and the pin over the picture --------------------------------------------------------------
  function onScreen(p) {
    const [r, u] = axes(), d = [0, 1, 2].map((n) => p[n] - state.middle[n]);
    return [canvas.clientWidth / 2 + dot(r, d) * state.scale, canvas.clientHeight / 2 - dot(u, d) * state.scale];
  }
  function marks() {
    const ax = axes(), h = canvas.clientHeight, foot = [54, h - 54];
    let text = "";
    ["X", "Y", "Z"].forEach((name, n) => {
      const dx = ax[0][n] * 36, dy = -ax[1][n] * 36;
      text += `<path d="M${foot[0]} ${foot[1]}l${dx.toFixed(1)} ${dy.toFixed(1)}"/><text x="${(foot[0] + dx * 1.3).toFixed(1)}" y="${(foot[1] + dy * 1.3 + 4).toFixed(1)}" text-anchor="middle">${name}</text>`;
    });
    const rough = 110 / state.scale, power = 10 ** Math.floor(Math.log10(rough));
    const size = [1, 2, 5, 10].map((k) => k * power).filter((v) => v <= rough).pop() || power;
    const long = size * state.scale, x = canvas.clientWidth - long - 18;
    text += `<path d="M${x} ${h - 24}v8h${long}v-8"/><text x="${x + long / 2}" y="${h - 24}" text-anchor="middle">${size >= 1 ? size : size.toFixed(1)} mm</text>`;
    if (state.pin) {
      const [u, v] = onScreen(state.pin);
      text += `<path class="pin" d="M${u - 16} ${v}h10m12 0h10M${u} ${v - 16}v10m0 12v10"/><path class="pin" d="M${u - 11} ${v}a11 11 0 1 0 22 0a11 11 0 1 0 -22 0"/>`;
    }
    over.innerHTML = text;
  }

  // ---- turning, moving, choosing -------------------------------------------------------------------------------
  function turn(dx, dy) { state.around -= dx; state.above = Math.max(-90, Math.min(90, state.above + dy)); draw(); }
  function slide(dx, dy) {
    const [r, u] = axes();
    state.middle = state.middle.map((v, n) => v - (r[n] * dx - u[n] * dy) / state.scale);
    draw();
  }
  function zoom(factor, x, y) {
    const px = (x ?? canvas.clientWidth / 2) - canvas.clientWidth / 2, py = (y ?? canvas.clientHeight / 2) - canvas.clientHeight / 2;
    const next = Math.max(0.02, Math.min(60, state.scale * factor)), k = 1 - state.scale / next;
    const [r, u] = axes();
    state.middle = state.middle.map((v, n) => v + (r[n] * px - u[n] * py) / state.scale * k);
    state.scale = next;
    draw();
  }
  const VIEWS = { corner: [-35, 26], above: [0, 90], left: [0, 0], right: [180, 0], front: [270, 0], behind: [90, 0] };
  function look(name) { [state.around, state.above] = VIEWS[name]; fit(); draw(); }
  document.querySelectorAll("[data-view]").forEach((b) => b.addEventListener("click", () => look(b.dataset.view)));

  const fingers = new Map();
  let moved = 0;
  canvas.addEventListener("pointerdown", (e) => { canvas.setPointerCapture(e.pointerId); fingers.set(e.pointerId, [e.offsetX, e.offsetY]); moved = 0; });
  canvas.addEventListener("pointermove", (e) => {
    const before = fingers.get(e.pointerId);
    if (!before) return;
    const dx = e.offsetX - before[0], dy = e.offsetY - before[1];
    moved += Math.abs(dx) + Math.abs(dy);
    if (fingers.size === 2) {
      const other = [...fingers.entries()].find(([id]) => id !== e.pointerId)[1];
      const was = Math.hypot(before[0] - other[0], before[1] - other[1]), now = Math.hypot(e.offsetX - other[0], e.offsetY - other[1]);
      if (was > 5) zoom(now / was, (e.offsetX + other[0]) / 2, (e.offsetY + other[1]) / 2);
      slide(dx / 2, dy / 2);
    } else if (e.shiftKey || e.buttons & 6) slide(dx, dy);
    else turn(dx * 0.45, dy * 0.45);
    fingers.set(e.pointerId, [e.offsetX, e.offsetY]);
  });
  const lift = (e) => {
    if (fingers.delete(e.pointerId) && e.type === "pointerup" && moved < 5) pick(e.offsetX, e.offsetY);
  };
  canvas.addEventListener("pointerup", lift); canvas.addEventListener("pointercancel", lift);
  canvas.addEventListener("contextmenu", (e) => e.preventDefault());
  canvas.addEventListener("wheel", (e) => { e.preventDefault(); zoom(Math.exp(-e.deltaY * 0.0012), e.offsetX, e.offsetY); }, { passive: false });
  canvas.addEventListener("keydown", (e) => {
    const step = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[e.key];
    if (step) { if (e.shiftKey) slide(-step[0] * 30, -step[1] * 30); else turn(step[0] * 6, step[1] * 6); }
    else if (e.key === "+" || e.key === "=") zoom(1.2);
    else if (e.key === "-") zoom(1 / 1.2);
    else if (e.key === "0") { choose(-1); look("corner"); }
    else return;
    e.preventDefault();
  });

  function pick(x, y) {
    const w = canvas.width, h = canvas.height, frame = gl.createFramebuffer(), image = gl.createRenderbuffer(), depth = gl.createRenderbuffer();
    gl.bindFramebuffer(gl.FRAMEBUFFER, frame);
    gl.bindRenderbuffer(gl.RENDERBUFFER, image); gl.renderbufferStorage(gl.RENDERBUFFER, gl.RGBA8, w, h);
    gl.framebufferRenderbuffer(gl.FRAMEBUFFER, gl.COLOR_ATTACHMENT0, gl.RENDERBUFFER, image);
    gl.bindRenderbuffer(gl.RENDERBUFFER, depth); gl.renderbufferStorage(gl.RENDERBUFFER, gl.DEPTH_COMPONENT16, w, h);
    gl.framebufferRenderbuffer(gl.FRAMEBUFFER, gl.DEPTH_ATTACHMENT, gl.RENDERBUFFER, depth);
    gl.viewport(0, 0, w, h); gl.clearColor(0, 0, 0, 0); gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    gl.enable(gl.DEPTH_TEST);
    drawFaces(matrices(), true);
    const at = new Uint8Array(4);
    gl.readPixels(Math.round(x * w / canvas.clientWidth), Math.round(h - y * h / canvas.clientHeight), 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, at);
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
    gl.deleteFramebuffer(frame); gl.deleteRenderbuffer(image); gl.deleteRenderbuffer(depth);
    state.pin = null;
    choose(at[0] + 256 * at[1] + 65536 * at[2] - 1);
  }
  function describe(item) {
    const part = scene.parts[item.part];
    return `${scene.groups[item.group].name}, ${item.mark}: ${part.role} ${part.number}, ${part.what}, ${part.mass >= 0.1 ? part.mass.toFixed(2) + " kg" : (part.mass * 1000).toFixed(1) + " g"}, ${part.count} alike`;
  }
  function choose(number) {
    state.chosen = number;
    say(number < 0 ? "" : describe(scene.items[number]));
    el("piece").value = number < 0 || ![...el("piece").options].some((o) => o.value === String(number)) ? "" : String(number);
    placeAll(); draw();
  }
  const list = el("piece");
  scene.groups.forEach((group, g) => {
    const box = document.createElement("optgroup");
    box.label = group.name;
    scene.items.forEach((item, n) => {
      if (item.group !== g || item.layer.includes("screws")) return;
      const option = document.createElement("option");
      option.value = n; option.textContent = item.mark; box.append(option);
    });
    list.append(box);
  });
  list.addEventListener("change", () => { state.pin = null; choose(list.value === "" ? -1 : Number(list.value)); });
  el("group").addEventListener("change", () => { state.group = Number(el("group").value); state.pin = null; placeAll(); fit(); cutSaid(); draw(); });
  el("apart").addEventListener("input", () => {
    const before = state.apart;
    state.apart = Number(el("apart").value) / 130;
    state.scale *= (1 + 0.9 * before) / (1 + 0.9 * state.apart);
    draw();
  });

  function cutSaid() {
    el("cutat").disabled = el("cutside").disabled = state.axis < 0;
    if (state.axis < 0) { el("cutsaid").textContent = ""; return; }
    const [low, high] = reach()[state.axis];
    el("cutsaid").textContent = `${"XYZ"[state.axis]} ${(low + (high - low) * state.share).toFixed(0)} mm`;
  }
  el("cutaxis").addEventListener("change", () => { state.axis = el("cutaxis").value === "" ? -1 : Number(el("cutaxis").value);
    // Take away the half that is nearer to the reader: the cut then faces them.
    if (state.axis >= 0) state.other = el("cutside").checked = axes()[2][state.axis] < 0;
    cutSaid(); draw();
  });
  el("cutat").addEventListener("input", () => { state.share = Number(el("cutat").value) / 1000; cutSaid(); draw(); });
  el("cutside").addEventListener("change", () => { state.other = el("cutside").checked; draw(); });

  document.querySelectorAll(".where").forEach((button) => button.addEventListener("click", () => {
    const group = Number(button.dataset.group), marks = button.dataset.marks.split("|");
    const number = scene.items.findIndex((i) => i.group === group && marks.includes(i.mark));
    state.group = group; el("group").value = String(group);
    fit();
    const at = button.dataset.at ? button.dataset.at.split(",").map(Number) : null;
    state.pin = at || (number >= 0 ? middleOf(scene.items[number]) : null);
    if (state.pin) { state.middle = state.pin.slice(); state.scale *= 1.5; }
    choose(number);
    const text = button.closest("li").querySelector("span:not(.mark)").textContent;
    say(text + (number >= 0 ? ` (${scene.items[number].mark} is picked out)` : ""));
    document.getElementById("space").scrollIntoView({ block: "start" });
    canvas.focus({ preventScroll: true });
  }));
  function middleOf(item) {
    const part = scene.parts[item.part], grid = new Uint16Array(bytes(part.points)), most = [0, 0, 0], m = item.pose;
    for (let i = 0; i < grid.length; i++) most[i % 3] = Math.max(most[i % 3], grid[i]);
    const p = most.map((v, n) => part.low[n] + v * part.step / 2);
    return [0, 1, 2].map((r) => m[3 * r] * p[0] + m[3 * r + 1] * p[1] + m[3 * r + 2] * p[2] + m[9 + r]);
  }

  // ---- paper, light and dark, sizes ----------------------------------------------------------------------------
  window.addEventListener("beforeprint", () => {
    paint();
    el("printed").src = canvas.toDataURL("image/png");
    el("printed").alt = canvas.getAttribute("aria-label");
  });
  window.matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => { readColours(); draw(); });
  canvas.addEventListener("webglcontextlost", (e) => { e.preventDefault(); say("The picture was lost; load the page again."); });
  new ResizeObserver(() => draw()).observe(canvas);

  readColours();
  if (scene.groups.length === 1) { state.group = 0; el("group").value = "0"; }
  placeAll();
  fit();
  paint();
  document.documentElement.dataset.drawn = "yes";
})();
