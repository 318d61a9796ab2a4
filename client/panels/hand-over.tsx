export function HandOver() {
  return null;
}
