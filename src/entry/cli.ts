#!/usr/bin/env node
import { catalogue } from '../analyses/catalogue.js';
import { runCommandLine } from '../cli/commands.js';
import { SurveyShelf } from '../operations/survey-shelf.js';
import { openSqliteStore } from '../storage/sqlite/store.js';
import { publishedService, storeFile } from './compose.js';
import { configFrom } from './config.js';
import { serveUntilStopped } from './serve.js';
import { readSurface } from './surfaces.js';

// a reader that closes early (| head) is no fault of ours
process.stdout.on('error', (error: NodeJS.ErrnoException) => {
  if (error.code !== 'EPIPE') throw error;
});

process.exitCode = await runCommandLine(
  {
    catalogue,
    openStore: async () => openSqliteStore(storeFile(configFrom(process.env))),
    openService: publishedService,
    openShelf: (store) => new SurveyShelf(store, readSurface),
    serve: () => serveUntilStopped(configFrom(process.env)),
    out: process.stdout,
    err: process.stderr,
  },
  process.argv.slice(2),
);
