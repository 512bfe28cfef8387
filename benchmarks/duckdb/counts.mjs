// SPDX-License-Identifier: Apache-2.0
// The baseline that judging a stored year is compared with: what a good
// analytical database takes for the bare counts alone, by hand-written SQL.
//
//     node counts.mjs ROWS.csv [NODES.csv]
//
// ROWS.csv has the columns node, receiver, time_ns and seq. CPU seconds on one
// thread are told of reading it into a table in memory, and of the counts by a
// query on that table, the median of three. The counts go to NODES.csv, so that
// they can be compared. Prints `name value unit` lines.

import { writeFileSync } from "node:fs";
import { DuckDBInstance } from "@duckdb/node-api";

// In order of time, a hearing with the number of the one before is the same report
// heard again; what is missed lies between two numbers that differ (16 bits).
const kCounts = `
  WITH step AS (
    SELECT node, time_ns,
           (seq - lag(seq) OVER (PARTITION BY node ORDER BY time_ns) + 65536) % 65536 AS step
    FROM hearing
  )
  SELECT node, count(*) AS hearings, count(*) FILTER (step IS NULL OR step > 0) AS reports,
         min(time_ns) AS first, max(time_ns) AS last, sum(greatest(step - 1, 0)) AS missed
  FROM step GROUP BY node ORDER BY node`;

const [rows_file, counts_file] = process.argv.slice(2);
if (!rows_file) {
  console.error("usage: node counts.mjs ROWS.csv [NODES.csv]");
  process.exit(2);
}

const quoted = (text) => `'${text.replaceAll("'", "''")}'`;
const instance = await DuckDBInstance.create(":memory:", { threads: "1" });
const connection = await instance.connect();
const cpu_s_since = (begin) => {
  const used = process.cpuUsage(begin);
  return (used.user + used.system) / 1e6;
};

const load_begin = process.cpuUsage();
await connection.run(
  `CREATE TABLE hearing AS SELECT * FROM read_csv(${quoted(rows_file)}, header = true, columns =
     {node: 'INTEGER', receiver: 'INTEGER', time_ns: 'BIGINT', seq: 'INTEGER'})`);

const load_cpu_s = cpu_s_since(load_begin);

const cpu_s = [];
let counts;
for (let round = 0; round < 3; round += 1) {
  const begin = process.cpuUsage();
  counts = await connection.runAndReadAll(kCounts);
  cpu_s.push(cpu_s_since(begin));
}
cpu_s.sort((a, b) => a - b);
const rows = counts.getRows();
console.log(`duckdb.rows ${rows.reduce((sum, row) => sum + Number(row[1]), 0)} count`);
console.log(`duckdb.load ${load_cpu_s.toFixed(3)} cpu_s`);
console.log(`duckdb.counts ${cpu_s[1].toFixed(3)} cpu_s`);
if (counts_file) {
  const lines = [counts.columnNames(), ...rows].map((row) => row.join(","));
  writeFileSync(counts_file, `${lines.join("\n")}\n`);
}
