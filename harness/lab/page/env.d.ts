// What the bundler makes of an import of a worker: a class whose code is within the page.
declare module "*?worker&inline" {
  const LabWorker: new () => Worker;
  export default LabWorker;
}
