// Command snapgauged serves snapgauge over gRPC.
//
//	snapgauged [--listen ADDRESS] [--metrics-listen ADDRESS] [--store STORE]
//	           [--sheets DIR|none] [--log text|json] [--address-file FILE]
//
// Each flag can be set by an environment variable as well: --metrics-listen by
// SNAPGAUGE_METRICS_LISTEN and so on. A flag on the command line goes before its
// variable. Run snapgauged --help for what each means.
//
// It judges by the sheets that are published in its store. Those of --sheets are
// published first, where the store does not have them yet; a store that holds
// another content for one of them is left as it is, and the program ends.
//
// Any number of processes can serve one store. A PostgreSQL database suits
// several machines; a password for it is better given by PGPASSWORD or a
// password file than on the command line.
//
// SIGINT and SIGTERM end it: health says NOT_SERVING, new calls are refused, and
// those under way have ten seconds. A second signal ends it at once.
//
// It exits with 0 after a signal, 1 when it cannot start or go on, 2 when it was
// called wrongly.
package main
