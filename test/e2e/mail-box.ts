import { simpleParser } from 'mailparser';
import { SMTPServer } from 'smtp-server';

export interface Letter {
  readonly to: string;
  readonly subject: string;
  readonly text: string;
  readonly key: string;
}

/** A real SMTP server on this machine that keeps what it is given. */
export interface MailBox {
  readonly url: string;
  readonly letters: () => readonly Letter[];
  readonly close: () => Promise<void>;
}

export async function openMailBox(port: number): Promise<MailBox> {
  const letters: Letter[] = [];
  const server = new SMTPServer({
    authOptional: true,
    // Nothing leaves this machine: no certificate is needed.
    disabledCommands: ['STARTTLS', 'AUTH'],
    onData(stream, session, callback) {
      simpleParser(stream).then(({ subject = '', text = '', headers }) => {
        const key = headers.get('x-duskline-key');
        for (const { address } of session.envelope.rcptTo)
          letters.push({ to: address, subject, text, key: typeof key === 'string' ? key : '' });
        callback();
      }, callback);
    },
  });
  await new Promise<void>((resolve) => server.listen(port, '127.0.0.1', resolve));
  return {
    url: `smtp://127.0.0.1:${port}`,
    letters: () => letters,
    close: () =>
      new Promise((resolve) => {
        server.close(resolve);
      }),
  };
}
