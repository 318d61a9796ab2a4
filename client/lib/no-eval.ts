import { config } from "zod";

// The page allows no code made from text; the schema library must know before its first schema is built.
config({ jitless: true });
