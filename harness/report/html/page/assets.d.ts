declare module "*?inline" {
  const text: string;
  export default text;
}
