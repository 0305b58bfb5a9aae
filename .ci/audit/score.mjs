// Prints the scores of one page from one or more reports; where there are several the median counts. Fails below 95.
import { readFileSync } from 'node:fs';
import { loadavg } from 'node:os';

const [page, ...files] = process.argv.slice(2);
const reports = files.map((f) => JSON.parse(readFileSync(f, 'utf8')));
const middle = (list) => list.sort((a, b) => a - b)[Math.floor(list.length / 2)];
for (const id of Object.keys(reports[0].categories)) {
  const scores = reports.map((r) => Math.round(r.categories[id].score * 100));
  const score = middle([...scores]);
  console.log(`${page}  ${reports[0].categories[id].title}: ${score}${files.length > 1 ? ` (${scores.join(' ')})` : ''}`);
  if (score < 95) process.exitCode = 1;
}
const number = (id) => Math.round(middle(reports.map((r) => r.audits[id].numericValue)));
console.log(`  ${['first-contentful-paint', 'largest-contentful-paint', 'total-blocking-time', 'mainthread-work-breakdown'].map((id) => `${id} ${number(id)} ms`).join(', ')}; load of this machine ${loadavg()[0].toFixed(1)}`);
const last = reports.at(-1);
for (const a of Object.values(last.audits)) if (a.score !== null && a.score < 0.9 && a.scoreDisplayMode !== 'informative') console.log(`  ${a.id}: ${a.displayValue ?? a.title}`);
