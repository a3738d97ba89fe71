// Package recordjson reads one set-up record from one line of JSON.
//
// What it accepts is the protobuf JSON format: fields by their snake_case or
// lowerCamelCase names, numbers also in quotes, null for a field that is left
// out. Enum values may be written short, as in documents: pre-delivery for
// PHASE_PRE_DELIVERY. Two things of the format are refused because no record can
// hold them: numbers that are not finite, and the NUL character.
//
// It exists for speed. A general decoder finds every field by reflection and
// allocates every text, which costs more than judging the record does; this one
// knows the message, and its texts are parts of the line. A test holds it to the
// fields of the contract, and to what protojson reads.
package recordjson
