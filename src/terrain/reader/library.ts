import { addDecoder, BaseDecoder, getDecoder } from "geotiff";
import { decodeLzw } from "./decoders.ts";

/**
 * LZW as this reader wants it: any damage is an error with a code. Registered with the TIFF library so that its own
 * lenient decoder, which only prints a line on a wrong code, is never used by anything in the project.
 */
class StrictLzwDecoder extends BaseDecoder {
  override decodeBlock(buffer: ArrayBufferLike): ArrayBufferLike {
    const p = this.parameters;
    const bits = typeof p.bitsPerSample === "number" ? p.bitsPerSample : Number(p.bitsPerSample[0]);
    const samples = p.planarConfiguration === 1 && typeof p.bitsPerSample !== "number" ? p.bitsPerSample.length : 1;
    const out = new Uint8Array(Math.ceil((p.tileWidth * samples * bits) / 8) * p.tileHeight);
    decodeLzw(new Uint8Array(buffer), out, "");
    return out.buffer;
  }
}
addDecoder(5, async () => StrictLzwDecoder);

const EMPTY = { tileWidth: 1, tileHeight: 1, predictor: 1, bitsPerSample: 8, planarConfiguration: 1 };

/** A block decoder of the TIFF library without its predictor, for compressions this reader leaves to it. */
export const libraryDecoder = (compression: number, parameters: Record<string, unknown>): Promise<BaseDecoder> =>
  getDecoder(compression, { ...EMPTY, ...parameters });
