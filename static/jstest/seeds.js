// A worker that runs every so-manieth seed of a range of the simulation and tells what was broken.

import { parentPort, workerData } from 'node:worker_threads';
import { simulate } from './simulation.js';

delete globalThis.CompressionStream; // packs beside the one clock; what is packed is tested elsewhere

const { from, to, step } = workerData;
const found = { runs: 0, kept: 0, faults: {}, failed: [] };
for (let seed = from; seed < to; seed += step) {
  const { wrong, kept, faults } = await simulate(seed);
  found.runs++;
  found.kept += kept;
  for (const [name, n] of Object.entries(faults)) found.faults[name] = (found.faults[name] ?? 0) + n;
  if (wrong.length > 0) found.failed.push({ seed, wrong: wrong.slice(0, 5) });
}
parentPort.postMessage(found);
