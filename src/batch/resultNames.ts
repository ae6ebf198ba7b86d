/**
 * Whether a file name is one that twinkeel gives to what it makes from a clip: results, records,
 * hand-overs, steadied movies. Nobody's track, whatever stands in it.
 */
export function isResultName(name: string): boolean {
  return RESULT.test(name);
}

const RESULT =
  /\.(?:corrections\.csv|result\.json|clip\.json|handoff\.(?:csv|json)|trajectory\.tum|opentrackio\.jsonl|(?:steady|proxy)\.(?:mkv|mov|mp4)(?:\.json)?)$|^shoot\.summary(?:\.\d+-of-\d+)?\.json$/i;
