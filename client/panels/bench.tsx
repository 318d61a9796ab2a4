export function Bench() {
  return null;
}
