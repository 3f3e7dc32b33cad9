// Validates FHIR R4 resources with the npm package `fhir`: node fhirjs.cjs FILE.json …
// Exit status 1 when a file is not valid.
const fs = require('fs');
const { Fhir } = require('fhir');

let faults = 0;
for (const file of process.argv.slice(2)) {
  const resource = JSON.parse(fs.readFileSync(file, 'utf8'));
  const result = new Fhir().validate(resource, { errorOnUnexpected: true });
  const errors = (result.messages || []).filter((one) => ['error', 'fatal'].includes(one.severity));
  if (!result.valid || errors.length > 0) {
    faults += 1;
    console.log(`${file}: ${JSON.stringify(errors.slice(0, 20))}`);
  }
}
console.log(`${process.argv.length - 2} files, ${faults} not valid`);
process.exit(faults > 0 ? 1 : 0);
