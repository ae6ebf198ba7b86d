/**
 * A plugin of typedoc: puts every symbol of the library into a category named after the folder of
 * `src` that holds it, so that the site lies as the code does.
 */
import { Comment, CommentTag, Converter, ReflectionKind } from 'typedoc';

/** What stands in `src` itself joins the folders to one job. */
const WHOLE_JOB = 'the whole job';

export function load(app) {
  // Before signatures and members are resolved, so that typedoc's own grouping sees the categories.
  app.converter.on(Converter.EVENT_RESOLVE_BEGIN, ({ project }) => {
    for (const entry of project.getReflectionsByKind(ReflectionKind.Module)) {
      for (const symbol of entry.children ?? []) {
        // What an entry exports again lies where it was defined.
        const defined = symbol.isReference() ? symbol.tryGetTargetReflectionDeep() : symbol;
        const path = defined?.sources?.[0]?.fullFileName ?? '';
        const folder = /\/src\/(\w+)\//.exec(path)?.[1] ?? WHOLE_JOB;
        const category = new CommentTag('@category', [{ kind: 'text', text: folder }]);
        // The comment of a function belongs to its signatures.
        for (const documented of symbol.signatures ?? [symbol]) {
          documented.comment ??= new Comment();
          documented.comment.blockTags.push(category);
        }
      }
    }
  });
}
