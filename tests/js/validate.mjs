// Validates glTF files given as arguments and prints the reports as JSON.
import { readFileSync } from 'node:fs';
import validator from 'gltf-validator';

const reports = {};
for (const file of process.argv.slice(2)) {
  const report = await validator.validateBytes(new Uint8Array(readFileSync(file)));
  reports[file] = { issues: report.issues, info: report.info };
}
console.log(JSON.stringify(reports));
