// Runs the grammars for highlighting over the examples and the rules in the engine that editors use, and looks at what comes out.
// Takes the folder that holds node_modules.
import { readFileSync, readdirSync } from "node:fs";
import { createRequire } from "node:module";
import { dirname, join, resolve } from "node:path";
import { fileURLToPath } from "node:url";

const require = createRequire(join(resolve(process.argv[2]), "package.json"));
const { Registry, parseRawGrammar, INITIAL } = require("vscode-textmate");
const oniguruma = require("vscode-oniguruma");
const root = join(dirname(fileURLToPath(import.meta.url)), "../..");

await oniguruma.loadWASM(readFileSync(require.resolve("vscode-oniguruma/release/onig.wasm")).buffer);
const files = { "source.layrule.layout": "layout", "source.layrule.rules": "rules" };
const registry = new Registry({
  onigLib: Promise.resolve({
    createOnigScanner: (patterns) => new oniguruma.OnigScanner(patterns),
    createOnigString: (text) => new oniguruma.OnigString(text),
  }),
  loadGrammar: async (scope) => {
    const path = join(root, `grammar/${files[scope]}.tmLanguage.json`);
    return parseRawGrammar(readFileSync(path, "utf8"), path);
  },
});

let faults = 0;
const fault = (text) => { faults += 1; console.error(text); };

function tokens(grammar, text) {
  let stack = INITIAL;
  return text.split(/\r?\n/).map((line) => {
    const result = grammar.tokenizeLine(line, stack);
    stack = result.ruleStack;
    return result.tokens.map((token) => [line.slice(token.startIndex, token.endIndex), token.scopes.at(-1)]);
  });
}

// What each piece of a line must be.
const expected = {
  "source.layrule.layout": [
    ["  loops  12 of 1800 east, stepping 75.5 mm north # turn", [
      ["loops", "keyword.control"], ["12", "constant.numeric"], ["of", "keyword.control"], ["east", "constant.language"],
      ["stepping", "keyword.control"], ["75.5", "constant.numeric"], ["mm", "keyword.other.unit"], ["# turn", "comment.line"]]],
    ["room boot-room \"Boot # room\" {", [
      ["room", "keyword.control"], ["boot-room", "entity.name"], ["\"Boot # room\"", "string.quoted.double"]]],
    ["  deviation spacing cable a \"agreed\" until 2027-03-01", [
      ["deviation", "keyword.control"], ["spacing", "entity.name"], ["cable", "keyword.control"], ["2027-03-01", "constant.numeric.date"]]],
    ["  run east-side", [["run", "keyword.control"]]],
    ["let x = 3 m2K/W + 5 %", [["x", "entity.name"], ["m2K/W", "keyword.other.unit"], ["+", "keyword.operator"], ["%", "keyword.other.unit"]]],
  ],
  "source.layrule.rules": [
    ["  message \"{run} is {max(a, 50 mm)} long\"", [
      ["message", "keyword.control"], ["max", "support.function"], ["50", "constant.numeric"], ["mm", "keyword.other.unit"],
      [" long", "string.quoted.double"]]],
    ["  require run.length >= least and not run.severity", [
      ["require", "keyword.control"], [">=", "keyword.operator"], ["and", "keyword.control"], ["not", "keyword.control"]]],
    ["rule wall-clearance { # note", [["rule", "keyword.control"], ["wall-clearance", "entity.name"], ["# note", "comment.line"]]],
  ],
};

for (const [scope, lines] of Object.entries(expected)) {
  const grammar = await registry.loadGrammar(scope);
  for (const [line, pieces] of lines) {
    const found = tokens(grammar, line)[0];
    for (const [text, want] of pieces) {
      if (!found.some(([piece, own]) => piece === text && own.startsWith(want))) {
        fault(`${scope}: \`${text}\` is not ${want} in ${line}: ${JSON.stringify(found)}`);
      }
    }
  }
}

// Over all there is: what stands at the start of a statement is coloured, notes and texts are whole, and no line is lost.
let seen = 0;
for (const [scope, folder, ending] of [
  ["source.layrule.layout", "examples", ".lay"], ["source.layrule.layout", "examples/faults", ".lay"], ["source.layrule.rules", "rules", ".rule"],
]) {
  const grammar = await registry.loadGrammar(scope);
  for (const name of readdirSync(join(root, folder)).filter((name) => name.endsWith(ending))) {
    let floor = false;
    const text = readFileSync(join(root, folder, name), "utf8");
    tokens(grammar, text).forEach((pieces, number) => {
      const line = text.split(/\r?\n/)[number];
      const place = `${folder}/${name}:${number + 1}`;
      if (pieces.map(([piece]) => piece).join("").trimEnd() !== line.trimEnd()) fault(`${place}: part of it is lost`);
      const first = pieces.find(([piece]) => piece.trim() !== "");
      if (first === undefined) return;
      seen += 1;
      if (line.trim() === "}") floor = false;
      // A condition that goes on from the line before begins no statement.
      const goesOn = number > 0 && /(\band|\bor|\bthen|[-+*\/=<>,(:])\s*$/.test(text.split(/\r?\n/)[number - 1]);
      const starts = /^[a-z]/.test(first[0].trim()) && !goesOn;
      if (starts && !floor && !/^(keyword\.control|constant\.language|support\.function)/.test(first[1])) fault(`${place}: \`${first[0]}\` is ${first[1]}`);
      if (/^\s*floor\b/.test(line)) floor = true;
      if (line.trim().startsWith("#") && !first[1].startsWith("comment")) fault(`${place}: a note is ${first[1]}`);
    });
  }
}
if (seen < 1000) fault(`only ${seen} lines were seen`);
console.log(`highlighting: ${seen} lines, ${faults} faults`);
process.exit(faults === 0 ? 0 : 1);
