// Reads DXF files with two readers that know nothing of each other and prints what they found as JSON.
// Usage: node read_dxf.mjs <folder with node_modules> <file.dxf>...
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";

const [home, ...files] = process.argv.slice(2);
const need = createRequire(join(home, "package.json"));
const { parseString } = need("dxf");
const Parser = need("dxf-parser");
const DxfParser = Parser.default ?? Parser;

function byDxf(text) {
  const read = parseString(text);
  return {
    units: read.header.insUnits,
    entities: read.entities.map((e) => ({
      type: e.type,
      layer: e.layer,
      closed: Boolean(e.closed),
      points: (e.vertices ?? []).map((v) => [v.x, v.y, v.bulge ?? 0]),
      circle: e.type === "CIRCLE" ? [e.x, e.y, 2 * e.r] : null,
    })),
  };
}

function byDxfParser(text) {
  const read = new DxfParser().parseSync(text);
  return {
    units: read.header.$INSUNITS,
    entities: read.entities.map((e) => ({
      type: e.type,
      layer: e.layer,
      closed: Boolean(e.shape),
      points: (e.vertices ?? []).map((v) => [v.x, v.y, v.bulge ?? 0]),
      circle: e.type === "CIRCLE" ? [e.center.x, e.center.y, 2 * e.radius] : null,
    })),
  };
}

const found = files.map((file) => {
  const text = readFileSync(file, "utf8");
  return { file, dxf: byDxf(text), "dxf-parser": byDxfParser(text) };
});
process.stdout.write(JSON.stringify(found));
