// Package specs holds the spec sheets of the demonstration makers. Makers,
// models and every figure are invented: never set up a real machine by them.
package specs

import "embed"

// FS holds the sheets under sheets/, one directory for each model.
//
//go:embed all:sheets
var FS embed.FS
