// Package delimited reads tables as text: one row a line, cells between commas,
// semicolons or tabs, cells in quotes where they have such a sign or a line break
// in them, quotes doubled within (RFC 4180).
//
// It is for files of any size and origin. A row is never held beyond a limit, and
// a broken row is one error, after which reading goes on with the next line: a
// quotation mark that is never closed would else swallow the rest of the file.
package delimited
