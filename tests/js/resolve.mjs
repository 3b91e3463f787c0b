/** For node: the app's packages lie in sw/node_modules, and a window's modules import those of the same window. */
import { createRequire } from 'node:module';
import { pathToFileURL } from 'node:url';

const require = createRequire(new URL('../../sw/package.json', import.meta.url));

export async function resolve(specifier, context, next) {
  const from = context.parentURL || '';
  const window = from.includes('/static/app/') ? new URL(from).search : '';
  if (window && specifier.startsWith('.')) {
    return { url: new URL(specifier, from).href + window, shortCircuit: true };
  }
  if (from.includes('/static/app/') && !specifier.startsWith('.') && !specifier.includes(':')) {
    return { url: pathToFileURL(require.resolve(specifier)).href, shortCircuit: true };
  }
  return next(specifier, context);
}
