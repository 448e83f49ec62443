// A knowledge folder in the YAML language server, as an editor opens it. Called by .ci/run; `HALFSPLIT` names the program.
import { execFileSync, spawn } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';

const require = createRequire(import.meta.url);
const { createMessageConnection, StreamMessageReader, StreamMessageWriter } = require('vscode-jsonrpc/node');
const program = process.env.HALFSPLIT;
const folder = mkdtempSync(join(tmpdir(), 'halfsplit-editor-'));
const faults = [];
const halfsplit = (...words) => execFileSync(program, words, { encoding: 'utf8' });

halfsplit('new', 'family', 'lamp', '--in', folder);
halfsplit('schema', '--knowledge', folder, '--editor');
const settings = JSON.parse(readFileSync(join(folder, '.vscode/settings.json'), 'utf8'));

const server = spawn(process.execPath, [require.resolve('yaml-language-server/bin/yaml-language-server'), '--stdio']);
const connection = createMessageConnection(
  new StreamMessageReader(server.stdout),
  new StreamMessageWriter(server.stdin),
);
const marks = new Map();
connection.onNotification('textDocument/publishDiagnostics', (of) => marks.set(of.uri, of.diagnostics));
connection.onRequest('client/registerCapability', () => null);
connection.onRequest('workspace/configuration', ({ items }) =>
  items.map(({ section }) => (section === 'yaml' ? { schemas: settings['yaml.schemas'], validate: true, completion: true, schemaStore: { enable: false } } : null)),
);
connection.listen();

const uri = (path) => pathToFileURL(join(folder, path)).href;
const wait = (ms) => new Promise((done) => setTimeout(done, ms));
let version = 1;

// What the server marks in a text that stands in a file, once it has looked.
async function marked(path, text) {
  marks.delete(uri(path));
  version += 1;
  connection.sendNotification('textDocument/didOpen', {
    textDocument: { uri: uri(path), languageId: 'yaml', version, text },
  });
  for (let tries = 0; tries < 100 && !marks.has(uri(path)); tries += 1) await wait(100);
  return (marks.get(uri(path)) ?? [{ message: 'no answer' }]).map((mark) => mark.message);
}

// What it proposes behind a text in a file; the text is put in place of `at`.
async function proposed(path, at, typed) {
  const whole = readFileSync(join(folder, path), 'utf8');
  if (!whole.includes(at)) throw new Error(`${path} has no ${at}`);
  const text = whole.replace(at, typed);
  await marked(path, text);
  const before = text.slice(0, whole.indexOf(at) + typed.length).split('\n');
  const position = { line: before.length - 1, character: before.at(-1).length };
  const found = await connection.sendRequest('textDocument/completion', { textDocument: { uri: uri(path) }, position });
  connection.sendNotification('textDocument/didClose', { textDocument: { uri: uri(path) } });
  return (found.items ?? found).map((item) => item.label);
}

const expect = (what, holds, found) => {
  if (!holds) faults.push(`${what}: ${JSON.stringify(found)}`);
};

try {
  await connection.sendRequest('initialize', {
    processId: process.pid,
    rootUri: pathToFileURL(folder).href,
    workspaceFolders: [{ uri: pathToFileURL(folder).href, name: 'knowledge' }],
    capabilities: { workspace: { configuration: true, workspaceFolders: true }, textDocument: { completion: {}, publishDiagnostics: {} } },
  });
  connection.sendNotification('initialized', {});
  connection.sendNotification('workspace/didChangeConfiguration', { settings: { yaml: { schemas: settings['yaml.schemas'] } } });
  await wait(500);

  const files = ['family', 'causes', 'codes', 'measurements/first', 'trees/slipping', 'trees/shared', 'cases/first', 'exercises/first'];
  for (const path of [...files.map((name) => `lamp/${name}.yaml`), 'vehicles/lamp-example.yaml']) {
    const found = await marked(path, readFileSync(join(folder, path), 'utf8'));
    expect(`${path} is as it should be`, found.length === 0, found);
    connection.sendNotification('textDocument/didClose', { textDocument: { uri: uri(path) } });
  }

  // Ids that are proposed where they belong, and nothing of another kind.
  const repair = await proposed('lamp/causes.yaml', 'repair: renew-pump', 'repair: ');
  expect('a repair is proposed', repair.includes('renew-pump') && !repair.includes('pump-worn'), repair);
  const leaf = await proposed('lamp/trees/shared.yaml', '- fluid-low', '- ');
  expect('a cause is proposed in a tree', leaf.includes('pump-worn'), leaf);
  const shown = await proposed('lamp/measurements/first.yaml', 'low: {fluid-low: 0.95}', 'low:\n        p');
  expect('a cause is proposed under shows', shown.includes('pump-worn'), shown);

  // Ids that nothing has are marked.
  for (const [path, from, to] of [
    ['lamp/causes.yaml', 'repair: renew-pump', 'repair: renew-pmup'],
    ['lamp/trees/shared.yaml', '- fluid-low', '- fluid-lwo'],
    ['lamp/measurements/first.yaml', 'low: {fluid-low: 0.95}', 'low: {fluid-lwo: 0.95}'],
    ['vehicles/lamp-example.yaml', 'family: lamp', 'family: lmap'],
  ]) {
    const text = readFileSync(join(folder, path), 'utf8');
    if (!text.includes(from)) throw new Error(`${path} has no ${from}`);
    const found = await marked(path, text.replace(from, to));
    expect(`${to} is marked`, found.length > 0 && found[0] !== 'no answer', found);
    connection.sendNotification('textDocument/didClose', { textDocument: { uri: uri(path) } });
  }
} finally {
  connection.dispose();
  server.kill();
  rmSync(folder, { recursive: true });
}
for (const fault of faults) console.error(`FAULT ${fault}`);
if (faults.length === 0) console.log('Ids are proposed and marked in the editor.');
// At once: an answer to a late question of the server would find its pipe closed.
process.exit(faults.length > 0 ? 1 : 0);
