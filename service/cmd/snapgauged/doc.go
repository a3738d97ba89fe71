// Command snapgauged serves snapgauge over gRPC.
//
//	snapgauged [--listen ADDRESS] [--metrics-listen ADDRESS] [--store FILE]
//	           [--sheets DIR] [--log text|json] [--address-file FILE]
//
// Each flag can be set by an environment variable as well: --metrics-listen by
// SNAPGAUGE_METRICS_LISTEN and so on. A flag on the command line goes before its
// variable. Run snapgauged --help for what each means.
//
// SIGINT and SIGTERM end it: health says NOT_SERVING, new calls are refused, and
// those under way have ten seconds. A second signal ends it at once.
//
// It exits with 0 after a signal, 1 when it cannot start or go on, 2 when it was
// called wrongly.
package main
