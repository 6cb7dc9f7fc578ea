import { once } from 'node:events';
import { connect, createServer, type AddressInfo, type Socket } from 'node:net';
import { setTimeout as sleep } from 'node:timers/promises';
import { simpleParser } from 'mailparser';
import { SMTPServer } from 'smtp-server';

export interface Letter {
  readonly to: string;
  readonly subject: string;
  readonly key: string;
  readonly atMs: number;
}

/** How the mail server behaves. `greylist`: 451 to everybody; `tls`: offers a certificate nobody trusts; `tarpit`: a byte a second. */
export type MailMood = 'well' | 'refused' | 'greylist' | 'tls' | 'tarpit';

/** A real SMTP server that keeps what it is given, behind a door that can behave badly. */
export interface MailBox {
  readonly url: string;
  readonly letters: () => readonly Letter[];
  readonly be: (mood: MailMood) => void;
  /** Addresses refused for good (550). */
  readonly unknown: Set<string>;
  readonly close: () => Promise<void>;
}

export async function openMailBox(): Promise<MailBox> {
  const letters: Letter[] = [];
  const unknown = new Set<string>();
  let mood: MailMood = 'well';

  const openServer = async (hasTls: boolean) => {
    const server = new SMTPServer({
      authOptional: true,
      disabledCommands: hasTls ? ['AUTH'] : ['STARTTLS', 'AUTH'],
      onRcptTo({ address }, _session, done) {
        const refuse = (responseCode: number, text: string) =>
          done(Object.assign(new Error(text), { responseCode }));
        if (mood === 'greylist') refuse(451, 'come back later');
        else if (unknown.has(address)) refuse(550, 'no such person');
        else done();
      },
      onData(stream, session, done) {
        simpleParser(stream).then(({ subject = '', headers }) => {
          const key = headers.get('x-duskline-key');
          for (const { address } of session.envelope.rcptTo)
            letters.push({
              to: address,
              subject,
              key: typeof key === 'string' ? key : '',
              atMs: Date.now(),
            });
          done();
        }, done);
      },
    });
    server.on('error', () => undefined);
    await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
    return server;
  };
  const servers = await Promise.all([openServer(false), openServer(true)]);
  const [plain, tls] = servers.map(({ server }) => (server.address() as AddressInfo).port);

  const lines = new Set<Socket>();
  const door = createServer((client) => {
    if (mood === 'refused') return void client.resetAndDestroy();
    const target = connect((mood === 'tls' ? tls : plain) ?? 0, '127.0.0.1');
    client.pipe(target);
    if (mood === 'tarpit') void drip(target, client);
    else target.pipe(client);
    for (const socket of [client, target]) {
      lines.add(socket);
      socket.on('error', () => undefined);
      socket.on('close', () => {
        lines.delete(socket);
        client.destroy();
        target.destroy();
      });
    }
  });
  door.listen(0, '127.0.0.1');
  await once(door, 'listening');
  return {
    url: `smtp://127.0.0.1:${(door.address() as AddressInfo).port}`,
    letters: () => letters,
    unknown,
    be(next) {
      mood = next;
      for (const line of lines) line.destroy();
    },
    async close() {
      for (const line of lines) line.destroy();
      door.close();
      await Promise.all(servers.map((server) => new Promise<void>((done) => server.close(done))));
    },
  };
}

async function drip(from: Socket, to: Socket): Promise<void> {
  for await (const bytes of from as AsyncIterable<Buffer>)
    for (const byte of bytes) {
      if (to.destroyed) return;
      to.write(Buffer.of(byte));
      await sleep(1000, undefined, { ref: false });
    }
}
