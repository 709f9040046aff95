/** The little of better-sqlite3 that tests use to make databases by hand. */
declare module 'better-sqlite3' {
  export default class Database {
    constructor(file: string);
    exec(sql: string): void;
    prepare(sql: string): {
      run(...values: unknown[]): void;
      all(...values: unknown[]): unknown[];
      get(...values: unknown[]): unknown;
    };
    close(): void;
  }
}
