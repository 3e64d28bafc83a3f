// Reads a list of graphs as JSON from standard input and writes them laid out to standard output.
"use strict";
const ELK = require("elkjs/lib/elk.bundled.js");

let text = "";
process.stdin.setEncoding("utf8");
process.stdin.on("data", (chunk) => { text += chunk; });
process.stdin.on("end", async () => {
  try {
    const elk = new ELK();
    const out = [];
    for (const graph of JSON.parse(text)) {
      out.push(await elk.layout(graph));
    }
    process.stdout.write(JSON.stringify(out));
  } catch (error) {
    process.stderr.write(String(error && error.message || error) + "\n");
    process.exit(1);
  }
});
