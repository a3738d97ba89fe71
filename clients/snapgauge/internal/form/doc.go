// Package form makes set-up records to fill in: YAML with a comment above each
// reading that says what is to be read and how.
//
// A form reads as a record as it stands: what is not filled in is left out, and
// a reading without a result counts as missing.
package form
