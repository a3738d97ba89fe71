// Package filter reads the filters of lists, in the language of AIP-160:
//
//	shop = "ridge-cycles" AND verdict = "REJECT"
//	vin = "0VS*" AND (phase = HANDOVER OR phase = PRE_DELIVERY)
//	model_year >= 2025 AND NOT market = "EU"
//	create_time >= "2026-11-01T00:00:00Z" AND create_time < "2026-12-01T00:00:00Z"
//
// As AIP-160 has it, OR binds tighter than AND, and conditions side by side
// without a word between them are joined by AND.
//
// The left side is a field of the list, such as those of [store.Fields]. The right side is a value: text in
// quotes (single words of letters, digits and underscores need none), a whole
// number, or a time as RFC 3339 in quotes. Texts and the short names of enums
// know = and !=; numbers and times know < <= > >= as well. Times count in whole
// microseconds, the rest is cut off.
//
// An asterisk at the end of a text stands for any rest, after = and !=. No other
// place for it is allowed, so a text with an asterisk in it can not be asked for.
// Functions, the operator : and bare words are refused, except timestamp("...")
// around a time.
package filter
