/** Finds the examples of docstrings, compiles them together and runs each. */
import { join } from 'node:path';
import ts from 'typescript';
import { agrees, writtenValue } from './writtenValue.js';

/** The examples of one exported symbol. */
export interface DocumentedSymbol {
  readonly name: string;
  /** Functions, classes and constants can be run; types cannot. */
  readonly runs: boolean;
  readonly examples: readonly string[];
}

/** What an example may name without importing it, by name: an import specifier and its module. */
export type Imports = ReadonlyMap<string, readonly [specifier: string, module: string]>;

/** The exported symbols of an entry, with the examples of their docstrings. */
export function documentedSymbols(program: ts.Program, entry: string): DocumentedSymbol[] {
  const checker = program.getTypeChecker();
  const module = checker.getSymbolAtLocation(program.getSourceFile(entry)!);
  return checker.getExportsOfModule(module!).map((exported) => {
    const symbol =
      exported.flags & ts.SymbolFlags.Alias ? checker.getAliasedSymbol(exported) : exported;
    const tags = symbol.getJsDocTags(checker).filter(({ name }) => name === 'example');
    return {
      name: exported.name,
      runs: (symbol.flags & ts.SymbolFlags.Value) !== 0,
      examples: tags.map(({ text }) => ts.displayPartsToString(text)),
    };
  });
}

/** An example as a module of its own: imports what it names, takes what is given, runs in a block. */
export function moduleOf(code: string, imports: Imports, givenType: string): string {
  const names = new Set(code.match(/[A-Za-z_]\w*/g));
  const lines = [...imports].flatMap(([name, [specifier, module]]) =>
    names.has(name) ? [`import { ${specifier} } from '${module}';`] : [],
  );
  return `${lines.join('')}export async function example(${givenType}) { {\n${code}\n} }\n`;
}

/** What the compiler has against modules that exist in memory only, by name. */
export function complaints(
  modules: ReadonlyMap<string, string>,
  options: ts.CompilerOptions,
  earlier?: ts.Program,
): Map<string, string> {
  const host = ts.createCompilerHost(options);
  const { getSourceFile, fileExists, readFile } = host;
  host.fileExists = (path) => modules.has(path) || fileExists(path);
  host.readFile = (path) => modules.get(path) ?? readFile(path);
  host.getSourceFile = (path, language, ...rest) => {
    const text = modules.get(path);
    if (text !== undefined) return ts.createSourceFile(path, text, language, true);
    return earlier?.getSourceFile(path) ?? getSourceFile(path, language, ...rest);
  };
  const program = ts.createProgram([...modules.keys()], options, host, earlier);
  const found = new Map<string, string>();
  for (const path of modules.keys()) {
    const file = program.getSourceFile(path)!;
    const diagnostics = [
      ...program.getSyntacticDiagnostics(file),
      ...program.getSemanticDiagnostics(file),
    ];
    if (diagnostics.length === 0) continue;
    const text = diagnostics.map(({ messageText }) =>
      ts.flattenDiagnosticMessageText(messageText, '\n'),
    );
    found.set(path, text.join('\n'));
  }
  return found;
}

/** A check: the expression that stands in an example, and the remark behind it. */
interface Check {
  readonly expression: string;
  readonly remark: string;
}

/** The example with `told(k, …)` around each expression that has a remark behind it. */
function withChecks(code: string): { program: string; checks: Check[] } {
  const source = ts.createSourceFile('example.ts', code, ts.ScriptTarget.ES2022, true);
  const checks: Check[] = [];
  let program = '';
  let from = 0;
  const visit = (node: ts.Node): void => {
    const [remark] = ts.getTrailingCommentRanges(code, node.end) ?? [];
    if (ts.isExpressionStatement(node) && remark) {
      const { expression } = node;
      program += `${code.slice(from, node.getStart())}told(${checks.length}, ${expression.getText()});`;
      from = node.end;
      checks.push({
        expression: expression.getText(),
        remark: code.slice(remark.pos + 2, remark.end).trim(),
      });
      return;
    }
    ts.forEachChild(node, visit);
  };
  visit(source);
  return { program: program + code.slice(from), checks };
}

/**
 * Runs an example with values for its names.
 *
 * @returns what is wrong: a value other than the written one, a remark that is no value, an
 *   expression that was never reached, no value at all, an error that was thrown
 */
export async function failuresOf(
  code: string,
  values: Readonly<Record<string, unknown>>,
): Promise<string[]> {
  const { program, checks } = withChecks(code);
  const failures = checks.length > 0 ? [] : ['no value is written'];
  const reached = new Set<number>();
  const told = (k: number, value: unknown) => {
    reached.add(k);
    const { expression, remark } = checks[k]!;
    const written = writtenValue(remark);
    if (!written) failures.push(`${expression}: "${remark}" is no value`);
    else if (!agrees(written, value)) {
      failures.push(`${expression}: ${remark} is written, ${shown(value)} comes out`);
    }
  };
  const body = `{\n${program}\n}`;
  const { outputText } = ts.transpileModule(`export async function example() ${body}`, {
    compilerOptions: { module: ts.ModuleKind.ESNext, target: ts.ScriptTarget.ES2022 },
  });
  const names = [...Object.keys(values), 'told'];
  const run = new Function(...names, `return (${outputText.replace(/^export /, '')})();`);
  try {
    await run(...Object.values(values), told);
  } catch (error) {
    failures.push(String(error));
  }
  for (const [k, { expression }] of checks.entries()) {
    if (!reached.has(k)) failures.push(`${expression}: never reached`);
  }
  return failures;
}

function shown(value: unknown): string {
  const plain = (_: string, each: unknown) =>
    ArrayBuffer.isView(each)
      ? Array.from(each as unknown as ArrayLike<unknown>)
      : typeof each === 'bigint'
        ? `${each}n`
        : each;
  return (JSON.stringify(value, plain) ?? String(value)).slice(0, 300);
}

/** The compiler's options of the project, for modules in memory. */
export function projectOptions(root: string): ts.CompilerOptions {
  const path = join(root, 'tsconfig.json');
  const { config } = ts.readConfigFile(path, ts.sys.readFile);
  const { options } = ts.parseJsonConfigFileContent(config, ts.sys, root);
  // An example may name a result and say no more about it.
  return { ...options, noUnusedLocals: false, noUnusedParameters: false };
}
