// the limit: a bare node:http server that answers the bytes of one file, under the headers given, to everything
import { readFileSync } from 'node:fs';
import { createServer } from 'node:http';

const bytes = readFileSync(process.argv[2]);
const headers = JSON.parse(process.argv[3]);
const server = createServer((_request, response) => {
  response.writeHead(200, headers);
  response.end(bytes);
});
server.listen(0, '127.0.0.1', () => process.stdout.write(`${server.address().port}\n`));
