package main

import (
	"slices"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/batch"
)

// mostPlaces are how many runs of records a [placeList] keeps. Records that follow
// one another line by line are one run. Where each is a run of its own, this is a
// few megabytes, and examples are nearly always among the first records.
const mostPlaces = 1 << 18

// placeList remembers where records stand, by their index, so that the examples in
// the summary, which has indices only, can be found.
type placeList struct {
	runs []placeRun
	end  int64 // index after the last record whose place is known
}

// placeRun is where the first of some records stands that follow one another line
// by line.
type placeRun struct {
	index int64
	place batch.Place
}

// at is the place of the record of an index from that of the run on.
func (r placeRun) at(index int64) batch.Place {
	place := r.place
	if place.Line > 0 {
		place.Line += index - r.index
	}
	return place
}

// add adds the place of the next record.
func (l *placeList) add(index int64, place batch.Place) {
	if index != l.end {
		return // one was left out, since there are too many
	}
	if n := len(l.runs); n == 0 || place.Line == 0 || l.runs[n-1].at(index) != place {
		if n == mostPlaces {
			return
		}
		l.runs = append(l.runs, placeRun{index, place})
	}
	l.end++
}

// of returns the file and the line of a record; ok is false where they are not
// known. The line is nought where the file is the record.
func (l *placeList) of(index int64) (file string, line int64, ok bool) {
	if l == nil || index < 0 || index >= l.end {
		return "", 0, false
	}
	n, found := slices.BinarySearchFunc(l.runs, index, func(r placeRun, index int64) int { return int(r.index - index) })
	if !found {
		n--
	}
	place := l.runs[n].at(index)
	return place.File, place.Line, true
}
