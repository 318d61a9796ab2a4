export function DrawTools() {
  return null;
}
