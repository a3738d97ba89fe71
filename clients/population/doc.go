// Command population writes a population of invented set-up records of the
// demonstration machines, and the truth about each beside it:
//
//	go run ./clients/population --seed 7 --records 100000 --preset mixed \
//	    --out records.jsonl.gz --truth truth.jsonl
//
// Records are JSON Lines, packed if the file's name ends in .gz or .zst; so is the
// truth. "-" is standard output. The same flags give the same records.
//
// It ends with 0 when all is written, with 2 for bad flags and for what cannot be
// written.
package main
