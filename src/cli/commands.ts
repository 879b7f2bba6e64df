import { Command, CommanderError } from 'commander';
import type { Analysis } from '../analyses/contract.js';
import { softwareVersion } from '../analyses/software.js';
import type { Service } from '../operations/service.js';
import { checkSiteFolder, importSiteFolder, makeSiteFolder } from '../operations/site-folder.js';
import type { SurveyShelf } from '../operations/survey-shelf.js';
import { Problem } from '../problems.js';
import type { Store } from '../storage/store.js';
import { addExportCommand } from './export.js';
import { readBytes } from './flags.js';
import { complaintText, importText } from './folder-text.js';
import { addRunCommands } from './run.js';

/** What the commands need from the room that starts them. */
export interface CommandRooms {
  readonly catalogue: readonly Analysis[];
  openStore(): Promise<Store>;
  openShelf(store: Store): SurveyShelf;
  /** the stored sites as the service publishes them; runs nothing */
  openService(store: Store): Service;
  /** serves until the process is told to stop */
  serve(): Promise<void>;
  readonly out: NodeJS.WriteStream;
  readonly err: NodeJS.WriteStream;
}

/**
 * Runs one command. A refusal is one line on stderr.
 * @returns the exit code: 0 done, 1 refused or complaints found
 */
export async function runCommandLine(rooms: CommandRooms, words: readonly string[]): Promise<number> {
  let code = 0;
  try {
    await program(rooms, (value) => {
      code = value;
    }).parseAsync(words, { from: 'user' });
    return code;
  } catch (error) {
    if (error instanceof CommanderError) return error.exitCode;
    if (!(error instanceof Problem)) throw error;
    rooms.err.write(`wreckfield: ${error.message}\n`);
    return 1;
  }
}

/** The command line: `wreckfield new|check|import|run|export|serve`. */
function program(rooms: CommandRooms, finish: (code: number) => void): Command {
  const command = new Command('wreckfield')
    .description('Grid, finds, levels and hull of a wreck excavation as live layers and honest distribution statistics')
    .version(softwareVersion)
    // options after the name of a command are the command's: --version there is a data version
    .enablePositionalOptions()
    .showHelpAfterError('(--help lists what there is)')
    .exitOverride()
    .configureOutput({ writeOut: (text) => rooms.out.write(text), writeErr: (text) => rooms.err.write(text) });

  command
    .command('new <folder>')
    .description('make a site folder: every file with its headings and one example row')
    .action(async (folder: string) => {
      const files = await makeSiteFolder(folder);
      rooms.out.write(
        `${folder}: ${files.length} files made. Replace the example rows, then: wreckfield check ${folder}\n`,
      );
    });

  command
    .command('check <folder>')
    .description('read a site folder and list every complaint; nothing is stored')
    .option('--json', 'one JSON object on stdout')
    .action(async (folder: string, options: { json?: boolean }) => {
      const report = await checkSiteFolder(folder);
      rooms.out.write(options.json ? `${JSON.stringify(report)}\n` : complaintText(folder, report));
      if (report.complaints.total > 0) finish(1);
    });

  command
    .command('import <folder>')
    .description('take a site folder in as a new data version: all of it or nothing')
    .option('--set-aside', 'keep the good rows and set the bad ones aside by file and row')
    .option(
      '--accept-adjustment <file>',
      'a proposal of survey-adjustment (--json): its positions become those of the new data version',
    )
    .option('--json', 'one JSON object on stdout')
    .action(async (folder: string, options: { setAside?: boolean; acceptAdjustment?: string; json?: boolean }) => {
      const adjustment = options.acceptAdjustment === undefined ? null : readBytes(options.acceptAdjustment);
      const store = await rooms.openStore();
      try {
        const report = await importSiteFolder(store, folder, { setAside: options.setAside ?? false, adjustment });
        rooms.out.write(options.json ? `${JSON.stringify(report)}\n` : importText(folder, report));
        if (report.version === null) finish(1);
      } finally {
        await store.close();
      }
    });

  command
    .command('serve')
    .description(
      'serve the stored sites by open standards (settings: PORT, HOST, DATA_DIR, PUBLIC_BASE_URL, TRUST_PROXY, WORKERS)',
    )
    .action(() => rooms.serve());

  addRunCommands(command, rooms);
  addExportCommand(command, rooms);
  return command;
}
