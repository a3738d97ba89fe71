// Package document reads and writes protobuf messages as the YAML or JSON that
// people keep in files: set-up records and spec sheets.
//
// # What is read
//
// One document, in UTF-8, whose fields are those of the message by their
// snake_case or lowerCamelCase names. It is plain YAML without anchors,
// aliases, merge keys and tags, of which JSON is a part. Types are strict: text
// is no number, a number is decimal and finite. Two things are easier than in
// the protobuf JSON format: enum values may leave out the prefix of their type
// and be written in small letters with hyphens or spaces (pre-delivery for
// PHASE_PRE_DELIVERY), and time stamps need no quotes.
//
// A field with nothing after its colon is the same as one that is left out, so
// that a form to fill in can be read half filled in.
//
// # What is said about mistakes
//
// Everything that is wrong is told at once, each with file, line, column, field
// and what was wanted instead, in words for whoever wrote the file.
//
// Whether the values make sense is not asked here; [Lines] finds the place in
// the file for whoever asks.
package document
