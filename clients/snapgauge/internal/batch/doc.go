// Package batch reads set-up records from files of any length, and writes what an
// audit says of them.
//
// # What is read
//
// The name of a file says what is in it, in any case:
//
//	.jsonl, .ndjson   JSON Lines: a set-up record on each line, in the protobuf
//	                  JSON format; blank lines are skipped
//	.csv              a table (RFC 4180) between commas, semicolons or tabs
//	.parquet          columns, nested as in a record, or flat as in a table
//
// All but the last may be compressed: .gz or .zst stands after that. Compressed
// data is recognised under any name. "-" is standard input, and JSON Lines unless
// the caller says otherwise. Text is UTF-8, with or without a byte order mark.
//
// What the columns of a table mean is said by a column map: see package columns.
// JSON Lines have no need of one.
// A Parquet file without one has the fields of a set-up record as its columns,
// by their names in the contract: groups unit, range and fitted; lists options,
// conditions, instruments and readings of the three-level form (list.element);
// phases, stages, conditions and kinds as text, as in a record file; times as
// TIMESTAMP in UTC, in any unit. Columns may be missing; one too many is an error.
//
// A record that cannot be read is an item of its own, and reading goes on. What
// ends it is a file that cannot be read on, broken compression, or a column map
// that does not fit. No more of a file is held than the record at hand needs: a
// line is at most 1 MiB, a Zstandard window at most 128 MiB; of a Parquet file it
// is its description, and a page of each column.
//
// # What is written
//
// JSON Lines have an AuditResult of the contract on each line. CSV and Parquet
// have a row for each, in the same flat columns:
//
//	place                 where the record is: records.jsonl:1234
//	record                its number in the audit, from 1, as sentences count
//	index                 the same from 0, as messages count
//	setup                 name of the stored set-up, in an audit of these
//	vin, model, shop, technician, phase, finish_time
//	                      as recorded
//	spec_revision         what judged
//	verdict, verdict_then the verdict; that of the stored report
//	conforming, nonconforming, undecided, missing
//	                      how many characteristics had which outcome
//	codes                 of the findings, worst first, each once, between blanks
//	worst_severity        of the findings
//	first_finding         what the worst finding says
//	signs, because        what the record shows besides, and why
//	error_reason, error   why it could not be judged
//
// What there is none of is an empty cell, or null. Lines of a CSV file end in a
// line feed. A text in it that a spreadsheet would take for a formula has an
// apostrophe before it: one that begins with =, +, -, @ or their full-width forms,
// a tab or a line break.
//
// A file appears when it is whole, under its name; the same results give the same
// bytes.
package batch
