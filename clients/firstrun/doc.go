// Firstrun shows what snapgauge does, on a machine that has nothing but Go:
//
//	go run ./clients/firstrun
//
// From the root of the repository it builds the server and the command line into
// a temporary directory, starts the server on a free port of this machine with
// an empty store, and hands it every record under specs/records. For each it
// tells the verdict and whether that is what the record's author expects. Then it
// shows two reports at length, stores two records, lists them, looks something
// up, plans a job, works out a formula, has a sheet drawn, stops the server and
// leaves nothing behind.
//
// The exit code is 0 when every record was judged as expected, 1 when one was
// not, 2 when something could not be done, 130 when it was interrupted.
package main
