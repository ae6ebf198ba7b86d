/** Compares what an example gives with the value that is written behind it. */
import ts from 'typescript';

/** Room for rounding where a whole number is written: some thousand operations of 1e-16 each. */
const ROUNDING = 1e-9;

/**
 * The value at the beginning of a remark, up to a unit or words: `0.5 rad`, `[0, 1, …]`,
 * `'level', …`. Undefined where the remark begins with anything else.
 */
export function writtenValue(remark: string): ts.Expression | undefined {
  const source = ts.createSourceFile('value.ts', `(${remark.replaceAll('…', 'etc')}\n)`, 99, true);
  const statement = source.statements[0];
  if (!statement || !ts.isExpressionStatement(statement)) return undefined;
  const inside = ts.isParenthesizedExpression(statement.expression)
    ? statement.expression.expression
    : undefined;
  const value = inside && firstOperand(inside);
  return value && isValue(value) ? value : undefined;
}

/** Words behind a comma parse as one more operand. */
function firstOperand(node: ts.Expression): ts.Expression {
  const comma = ts.isBinaryExpression(node) && node.operatorToken.kind === ts.SyntaxKind.CommaToken;
  return comma ? firstOperand(node.left) : node;
}

function isValue(node: ts.Node): boolean {
  if (ts.isArrayLiteralExpression(node)) return node.elements.every(isValue);
  if (ts.isObjectLiteralExpression(node)) {
    return node.properties.every((property) =>
      ts.isPropertyAssignment(property) ? isValue(property.initializer) : isEtc(property.name),
    );
  }
  if (ts.isPrefixUnaryExpression(node)) return ts.isNumericLiteral(node.operand);
  return (
    ts.isNumericLiteral(node) ||
    ts.isStringLiteralLike(node) ||
    ts.isBigIntLiteral(node) ||
    WORDS.has(node.getText()) ||
    isEtc(node)
  );
}

const WORDS = new Map<string, unknown>([
  ['true', true],
  ['false', false],
  ['null', null],
  ['undefined', undefined],
  ['Infinity', Number.POSITIVE_INFINITY],
]);

const isEtc = (node: ts.Node | undefined) => node?.getText() === 'etc';

/** Whether a value is the written one; numbers to half a unit of the last digit written. */
export function agrees(written: ts.Expression, value: unknown): boolean {
  if (ts.isArrayLiteralExpression(written)) return agreesWithList(written, value);
  if (ts.isObjectLiteralExpression(written)) return agreesWithEntries(written, value);
  if (ts.isStringLiteralLike(written)) return value === written.text;
  if (ts.isBigIntLiteral(written)) return value === BigInt(written.text.replace('n', ''));
  const word = written.getText();
  if (WORDS.has(word)) return value === WORDS.get(word);
  const [digits, sign] = ts.isPrefixUnaryExpression(written)
    ? [written.operand.getText(), -1]
    : [word, 1];
  const wanted = sign * Number(digits);
  return typeof value === 'number' && Math.abs(value - wanted) <= halfStep(digits, wanted);
}

function halfStep(digits: string, wanted: number): number {
  const [, decimals = '', exponent] = /^\d*(?:\.(\d*))?(?:e([+-]?\d+))?$/i.exec(digits) ?? [];
  const whole = decimals === '' && exponent === undefined;
  // The last place itself carries the rounding of the decimal to a double.
  if (whole) return ROUNDING * Math.max(1, Math.abs(wanted));
  return (0.5 + ROUNDING) * 10 ** (Number(exponent ?? 0) - decimals.length);
}

function agreesWithList({ elements }: ts.ArrayLiteralExpression, value: unknown): boolean {
  if (!Array.isArray(value) && !ArrayBuffer.isView(value)) return false;
  const values = Array.from(value as ArrayLike<unknown>);
  const open = isEtc(elements.at(-1));
  const written = open ? elements.slice(0, -1) : elements;
  const fits = open ? values.length >= written.length : values.length === written.length;
  return fits && written.every((element, k) => agrees(element, values[k]));
}

function agreesWithEntries({ properties }: ts.ObjectLiteralExpression, value: unknown): boolean {
  if (typeof value !== 'object' || value === null || Array.isArray(value)) return false;
  const written = properties.filter(ts.isPropertyAssignment);
  const entries = new Map(Object.entries(value));
  const nameOf = ({ name }: ts.PropertyAssignment) =>
    ts.isStringLiteralLike(name) ? name.text : name.getText();
  const open = written.length < properties.length;
  return (
    (open || entries.size === written.length) &&
    written.every(
      (property) =>
        entries.has(nameOf(property)) &&
        agrees(property.initializer, entries.get(nameOf(property))),
    )
  );
}
