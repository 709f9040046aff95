// Under Next, importing 'server-only' keeps a file out of the browser bundle. Tests run in Node, where it has nothing
// to guard.
export {};
