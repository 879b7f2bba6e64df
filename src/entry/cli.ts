#!/usr/bin/env node
import { CommanderError } from 'commander';
import { catalogue } from '../analyses/catalogue.js';
import { program } from '../cli/commands.js';
import { SurveyShelf } from '../operations/survey-shelf.js';
import { Problem } from '../problems.js';
import { openSqliteStore } from '../storage/sqlite/store.js';
import { storeFile } from './compose.js';
import { configFrom } from './config.js';
import { serveUntilStopped } from './serve.js';
import { readSurface } from './surfaces.js';

// a reader that closes early (| head) is no fault of ours
process.stdout.on('error', (error: NodeJS.ErrnoException) => {
  if (error.code !== 'EPIPE') throw error;
});

try {
  await program({
    catalogue,
    openStore: async () => openSqliteStore(storeFile(configFrom(process.env))),
    openShelf: (store) => new SurveyShelf(store, readSurface),
    serve: () => serveUntilStopped(configFrom(process.env)),
    out: process.stdout,
    err: process.stderr,
  }).parseAsync(process.argv);
} catch (error) {
  if (error instanceof CommanderError) process.exitCode = error.exitCode;
  else if (error instanceof Problem) {
    process.stderr.write(`wreckfield: ${error.message}\n`);
    process.exitCode = 1;
  } else throw error;
}
