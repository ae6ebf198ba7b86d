/**
 * The command within this process, again and again: what it prints and its exit code are caught, so
 * that thousands of disturbed calls need not start Node each time.
 */
import { pathToFileURL } from 'node:url';

/** Named from outside: this file runs as part of a bundle that lies elsewhere. */
const CLI = pathToFileURL(process.env.TWINKEEL_CLI!).href;

/** How a call ended. */
export interface Ended {
  readonly status: number;
  readonly stderr: string;
}

let calls = 0;

/** Runs the command in the current folder. */
export async function call(args: readonly string[]): Promise<Ended> {
  const { argv, exitCode } = process;
  const [out, err] = [process.stdout.write, process.stderr.write];
  let stderr = '';
  const caught = (chunk: string | Uint8Array) => {
    stderr += String(chunk);
    return true;
  };
  process.argv = [argv[0]!, 'twinkeel', ...args];
  process.stdout.write = () => true;
  process.stderr.write = caught as typeof process.stderr.write;
  try {
    // Another query is another module: its body is the whole call.
    await import(`${CLI}?call=${calls++}`);
    return { status: Number(process.exitCode ?? 0), stderr };
  } catch (error) {
    // As Node itself ends on what nobody caught.
    return { status: 1, stderr: `${stderr}${(error as Error).stack}` };
  } finally {
    process.argv = argv;
    process.stdout.write = out;
    process.stderr.write = err;
    process.exitCode = exitCode;
    for (const stream of [process.stdout, process.stderr]) stream.removeAllListeners('error');
  }
}
