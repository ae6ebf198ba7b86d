import type { KernelNeeds, PlaneKernel } from './planeKernel.js';
import { typescriptKernel } from './typescriptKernel.js';
import { wasmKernel } from './wasm/wasmKernel.js';

/** The faster kernel that runs here. */
export function createKernel(needs: KernelNeeds): PlaneKernel {
  return wasmKernel(needs) ?? typescriptKernel(needs);
}
