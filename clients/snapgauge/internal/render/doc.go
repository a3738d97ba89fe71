// Package render writes API messages for a person: plain text of a given width,
// coloured or not, in the units that the person reads.
//
// It decides how things are said, never what: no verdict, no limit and no order
// of findings is worked out here.
package render
