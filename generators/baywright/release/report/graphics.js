"use strict";
// What the graphics card holds of the scene: programs, each part once with its places, and lines.
const graphicsOf = (gl, scene) => {
  const bytes = (text) => Uint8Array.from(atob(text), (c) => c.charCodeAt(0)).buffer;
  const indices = (text, wide) => (wide === 2 ? new Uint16Array(bytes(text)) : new Uint32Array(bytes(text)));
  const program = (vertex, fragment) => {
    const made = gl.createProgram();
    for (const [kind, text] of [[gl.VERTEX_SHADER, vertex], [gl.FRAGMENT_SHADER, fragment]]) {
      const shader = gl.createShader(kind);
      gl.shaderSource(shader, "#version 300 es\nprecision highp float;precision highp int;\n" + text);
      gl.compileShader(shader);
      if (!gl.getShaderParameter(shader, gl.COMPILE_STATUS)) throw new Error(gl.getShaderInfoLog(shader));
      gl.attachShader(made, shader);
    }
    ["corner", "row0", "row1", "row2", "away", "who"].forEach((name, i) => gl.bindAttribLocation(made, i, name));
    gl.linkProgram(made);
    if (!gl.getProgramParameter(made, gl.LINK_STATUS)) throw new Error(gl.getProgramInfoLog(made));
    const found = {}, count = gl.getProgramParameter(made, gl.ACTIVE_UNIFORMS);
    for (let i = 0; i < count; i++) {
      const name = gl.getActiveUniform(made, i).name;
      found[name] = gl.getUniformLocation(made, name);
    }
    return { made, at: found };
  };
  const PLACE = `
    in vec3 corner; in vec4 row0, row1, row2; in vec3 away; in float who;
    uniform vec3 low; uniform float step_, apart, nearer; uniform mat4 view; uniform vec3 middle;
    out vec3 world, seen; flat out float owner;
    void main() {
      vec4 own = vec4(corner * step_ + low, 1.0);
      world = vec3(dot(row0, own), dot(row1, own), dot(row2, own)) + away * apart;
      vec4 p = view * vec4(world - middle, 1.0);
      seen = p.xyz; owner = who; gl_Position = p; gl_Position.z -= nearer;
    }`;
  const CUT = "uniform vec4 cut; in vec3 world, seen; flat in float owner; out vec4 colour; uniform float chosen;";
  const faces = program(PLACE, CUT + `
    uniform vec3 paint, accent; uniform mat3 turn; uniform float scale; uniform int picking;
    void main() {
      if (dot(world, cut.xyz) > cut.w) discard;
      if (picking == 1) { float n = owner + 1.0; colour = vec4(mod(n, 256.0), mod(floor(n / 256.0), 256.0), floor(n / 65536.0), 255.0) / 255.0; return; }
      vec3 normal = turn * normalize(cross(dFdx(world), dFdy(world)));
      normal *= sign(normal.z + 1e-6);
      float light = 0.56 + 0.52 * max(dot(normal, normalize(vec3(0.55, 0.6, 0.6))), 0.0) + 0.16 * max(dot(normal, normalize(vec3(-0.8, 0.1, 0.6))), 0.0);
      vec3 base = owner == chosen ? mix(paint, accent, 0.75) : paint;
      if (!gl_FrontFacing && cut.w < 1e8) {
        float stripe = step(0.5, fract((gl_FragCoord.x + gl_FragCoord.y) / 9.0));
        colour = vec4(mix(base * 0.55, base * 0.95, stripe), 1.0); return;
      }
      colour = vec4(base * light, 1.0);
    }`);
  const edges = program(PLACE, CUT + `
    uniform vec4 ink;
    void main() { if (dot(world, cut.xyz) > cut.w) discard; if (chosen >= 0.0 && owner != chosen) discard; colour = ink; }`);

  const buffer = (kind, data, use) => {
    const made = gl.createBuffer();
    gl.bindBuffer(kind, made); gl.bufferData(kind, data, use || gl.STATIC_DRAW);
    return made;
  };
  const parts = scene.parts.map((part) => {
    const array = gl.createVertexArray(), lines = gl.createVertexArray();
    const points = buffer(gl.ARRAY_BUFFER, new Uint16Array(bytes(part.points)));
    const instances = gl.createBuffer();
    const tri = indices(part.faces, part.wide), rim = indices(part.edges, part.wide);
    for (const [where, index] of [[array, tri], [lines, rim]]) {
      gl.bindVertexArray(where);
      gl.bindBuffer(gl.ARRAY_BUFFER, points);
      gl.enableVertexAttribArray(0); gl.vertexAttribPointer(0, 3, gl.UNSIGNED_SHORT, false, 6, 0);
      gl.bindBuffer(gl.ARRAY_BUFFER, instances);
      for (const [slot, size, start] of [[1, 4, 0], [2, 4, 16], [3, 4, 32], [4, 3, 48], [5, 1, 60]]) {
        gl.enableVertexAttribArray(slot); gl.vertexAttribPointer(slot, size, gl.FLOAT, false, 64, start);
        gl.vertexAttribDivisor(slot, 1);
      }
      gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, gl.createBuffer());
      gl.bufferData(gl.ELEMENT_ARRAY_BUFFER, index, gl.STATIC_DRAW);
    }
    gl.bindVertexArray(null);
    return { part, array, lines, instances, tri: tri.length, rim: rim.length, kind: part.wide === 2 ? gl.UNSIGNED_SHORT : gl.UNSIGNED_INT, shown: 0 };
  });
  const strokes = scene.lines.filter((set) => set.points.length).map((set) => {
    const array = gl.createVertexArray();
    gl.bindVertexArray(array);
    buffer(gl.ARRAY_BUFFER, new Float32Array(set.points.flat()));
    gl.enableVertexAttribArray(0); gl.vertexAttribPointer(0, 3, gl.FLOAT, false, 12, 0);
    gl.bindVertexArray(null);
    return { set, array, count: set.points.length };
  });
  return { bytes, faces, edges, parts, strokes };
};
