// Package columns makes set-up records of the rows of a table, by a column map.
//
// # The column map
//
// A column map is a set-up record in YAML in which {column: NAME} stands for what
// is in the table, under that name in its first row. All else is a constant and
// holds for every record. A table of which each row is a record:
//
//	table:
//	  decimal: comma
//	  time_zone: Europe/Vienna
//	  time_layout: DD.MM.YYYY hh:mm
//	words:
//	  i.O.: true
//	  n.i.O.: false
//	  Übergabe: handover
//	record:
//	  unit:
//	    vin: {column: Fahrgestellnummer}
//	    model: Scree 200i
//	    model_year: 2026
//	    market: EU
//	    hours: {column: Betriebsstunden}
//	  phase: {column: Auftragsart}
//	  shop: ridge-cycles
//	  technician: {column: Mechaniker}
//	  finish_time: {column: [Datum, Fertig um]}
//	  options: {column: Zubehör, words: {Motorschutz: skid_plate}}
//	  instruments:
//	    - {id: jug-1, kind: measuring_vessel, unit: mL, max_permissible_error: 5}
//	  readings:
//	    - {characteristic: oil_tank_fill, stage: as_found, value: {column: Öl vorher}, unit: mL, instrument: jug-1}
//	    - {characteristic: oil_tank_fill, stage: as_left, value: {column: Öl}, unit: mL, instrument: jug-1}
//	    - {characteristic: steering_free, pass: {column: Lenkung}}
//
// Any field of a record may have a column, but for characteristics here; with a
// reading stands the unit that its column is in.
//
// Of a table of which each row is a reading, rows that follow one another with the
// same key are one record:
//
//	table:
//	  rows: readings
//	  key: [Job]
//	record:
//	  unit: {vin: {column: VIN}, model: {column: Model}, model_year: {column: Year}, market: EU}
//	  phase: {column: Job type, words: {PDI: pre_delivery}}
//	  shop: ridge-cycles
//	  technician: {column: Tech}
//	  finish_time: {column: Closed}
//	  instruments:
//	    - {id: {column: Tool}, kind: {column: Tool kind}}
//	  readings:
//	    - {characteristic: {column: Item}, only: [steering_free, tool_roll_present], pass: {column: Result}}
//	    - {characteristic: {column: Item}, value: {column: Result}, unit: {column: Unit}, time: {column: At}}
//
// An entry of readings is then for the characteristics that it names, or for all
// others. The rows of one record must say the same of all but readings and
// instruments.
//
// # Its words
//
//	table:
//	  rows           records (as if left out) or readings
//	  key            columns that the rows of a record have in common
//	  separator      comma, semicolon or tab; left out, it is recognised
//	  decimal        point (as if left out) or comma
//	  time_zone      of times without an offset, such as Europe/Vienna
//	  time_layout    of YYYY, YY, MM, MMM (Jan), DD, hh, mm, ss, AM, Z (an offset);
//	                 left out, times are as in ISO 8601, with T or a blank
//	  empty          texts that are as good as an empty cell, such as [-, n/a]
//	words:           what words mean where yes or no is wanted, or a phase, stage,
//	                 condition or kind of instrument; in any case
//
//	{column: NAME, words: {WORD: MEANING}, layout: LAYOUT, split: SIGN}
//	                 words of this column: a meaning is written as in a record,
//	                 and is empty where the word means nothing; the layout of this
//	                 time; what stands between the entries of a list, in place of
//	                 blanks and , ; |. A time may have two columns, [DAY, HOUR].
//
// Yes and no may be true, yes, pass, passed, ok, 1 and false, no, fail, failed,
// not ok, 0 without being said.
//
// # What a row gives
//
// An empty cell is no value. A reading is there where its value, pass, choice or
// text is, or what was fitted; an instrument where its id is. All that is wrong
// with a row is told at once, and the row gives no record. Where a row is a
// reading, one that cannot be read takes the records with it that it may belong
// to: judged without it, they would lack a reading that was taken.
//
// A time that a clock shows twice, when it is put back, is the earlier; one that
// it leaves out is a fault.
package columns
