// removes what an earlier build left, so that a deleted source file does not live on in dist
import { rmSync } from 'node:fs';

rmSync(new URL('../../dist', import.meta.url), { recursive: true, force: true });
