// Snapgauge is the command line of the snapgauge service: it hands set-up
// records to a server, shows what came of them, and answers what a machine's
// sheet says.
//
// It is thin. It reads and writes files and speaks gRPC; nothing is judged here.
//
//	snapgauge check FILE…          judge records, keep nothing
//	snapgauge submit FILE…         judge records and store them
//	snapgauge look MODEL WORDS…    what does the sheet say about it
//	snapgauge specs                the spec sheets; show, history, diff, options
//	snapgauge specs lint FILE…     check sheets; test, publish, withdraw, watch
//	snapgauge audit FILE…          judge many records, tell what shows in the many
//	snapgauge list, show SETUP     stored set-ups
//	snapgauge affected SPEC@N      stored set-ups that a revision judges otherwise
//	snapgauge record new MODEL     a record to fill in
//	snapgauge plan MODEL           the job, step by step, before it begins
//	snapgauge calc FORMULA …       the workshop's formulas
//	snapgauge sheet job, handover  the sheets for the bench and the customer
//
// # Exit codes
//
//	0  ACCEPT, of every file; or the question was answered
//	1  any other verdict; or nothing of what was looked up was found; or options do
//	   not go together, records are judged otherwise than they expect, set-ups are
//	   affected
//	2  bad usage or bad input, such as a record of an audit that cannot be judged; so
//	   is a name that there is nothing of, where more than looking it up was asked for
//	3  no server answers, or it failed
//
// Of several files the worst counts, and all are tried. Interrupted by a signal
// it ends with 130, but snapgauge specs watch, which goes on until then, with 0.
//
// # Streams
//
// Answers go to standard output. Errors go to standard error, one to a line, as
// FILE:LINE:COLUMN: message where a file is at fault. With -o json each answer
// is the API message in the protobuf JSON format, indented and in the same
// bytes every time; several files give several documents, one after another.
// snapgauge specs watch gives one to a line.
//
// An audit shows how far it is on standard error while that is a terminal.
//
// Only snapgauge sheet and audit write files, and none over another unless told to.
package main
