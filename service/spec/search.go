package spec

import (
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/snapgauge/snapgauge/service/near"
)

// How well a word matches by the way it does.
const (
	qualitySynonym = 0.9
	qualityPrefix  = 0.8
	qualityTypo    = 0.7
)

const (
	maxQueryWords = 16  // further ones are ignored
	intentShare   = 0.4 // of what asks for a kind, against words of the thing
	leastScore    = 0.2
	leastOfBest   = 0.45 // a match must be this near to the best one
)

// element is one thing that a query asks for, and how well each characteristic
// answers it, from 0 to 1.
type element struct {
	marks  []float64
	intent bool
	share  float64
}

// search returns at most so many characteristics that answer the words, best
// first; among equals the one whose name has least beside, then the first.
func (ix *index) search(text string, most int) []Match {
	elements, said := ix.read(text)
	total, named := 0.0, false
	for _, e := range elements {
		total += e.share
		named = named || !e.intent
	}
	if total == 0 {
		return nil
	}
	type candidate struct {
		place        int
		score, cover float64
	}
	var candidates []candidate
	best := 0.0
	for place := range ix.characteristics {
		score, found := 0.0, false
		for _, e := range elements {
			if mark := e.marks[place]; mark > 0 {
				score += e.share * mark
				found = found || !e.intent || !named
			}
		}
		// Rounded, so that equal scores are equal whatever order they were
		// added up in.
		score = math.Round(score/total*1e6) / 1e6
		if !found || score < leastScore {
			continue
		}
		best = max(best, score)
		candidates = append(candidates, candidate{place, score, ix.cover(place, said)})
	}
	slices.SortStableFunc(candidates, func(a, b candidate) int {
		switch {
		case a.score != b.score:
			return descending(a.score, b.score)
		case a.cover != b.cover:
			return descending(a.cover, b.cover)
		}
		return a.place - b.place
	})
	matches := make([]Match, 0, min(most, len(candidates)))
	for _, c := range candidates {
		if len(matches) == most || c.score < best*leastOfBest {
			break
		}
		ch := ix.characteristics[c.place]
		matches = append(matches, Match{Characteristic: ch, Score: c.score, Notes: ix.notes[ch.GetId()]})
	}
	return matches
}

func descending(a, b float64) int {
	if a > b {
		return -1
	}
	return 1
}

// cover is the part of a characteristic's name that the query says.
func (ix *index) cover(place int, said map[string]bool) float64 {
	names := ix.names[place]
	if len(names) == 0 {
		return 0
	}
	n := 0
	for _, word := range names {
		if said[word] {
			n++
		}
	}
	return float64(n) / float64(len(names))
}

// read makes the elements of a query, and tells which words of the index it
// says.
func (ix *index) read(text string) ([]element, map[string]bool) {
	list := terms(text)
	list = list[:min(len(list), maxQueryWords)]
	quality := make([]float64, len(list))
	for i, word := range list {
		list[i], quality[i] = ix.correct(word)
	}
	said := make(map[string]bool, len(list))
	for _, word := range list {
		said[word] = true
	}
	var elements []element
	for _, s := range trade().spans(list) {
		if s.phrase != nil && s.phrase.ignored {
			continue
		}
		e := element{marks: make([]float64, len(ix.characteristics))}
		if s.phrase == nil || !s.phrase.question {
			ix.mark(&e, list[s.first:s.first+s.length], quality[s.first:], s.phrase)
		}
		if s.phrase != nil && len(s.phrase.intents) > 0 {
			e.intent = true
			for place, kind := range ix.kinds {
				if slices.Contains(s.phrase.intents, kind) {
					e.marks[place] = 1
				}
			}
		}
		hits := 0
		for _, mark := range e.marks {
			if mark > 0 {
				hits++
			}
		}
		// Rare words weigh more; those that nothing has, most.
		e.share = math.Log(1 + float64(len(e.marks))/float64(1+hits))
		if e.intent {
			e.share = min(1, e.share) * intentShare
		}
		elements = append(elements, e)
	}
	return elements, said
}

// mark notes how well each characteristic has the words of a phrase: all of
// them, or a synonym of it, whichever is better.
func (ix *index) mark(e *element, list []string, quality []float64, p *idiom) {
	for i, word := range list {
		each := make([]float64, len(e.marks)) // so that a word counts once
		for _, h := range ix.words[word] {
			each[h.place] = h.weight * quality[i]
		}
		if alone := trade().phrases[word]; alone != nil {
			for _, group := range alone.groups {
				for _, h := range ix.groups[group] {
					each[h.place] = max(each[h.place], h.weight*quality[i]*qualitySynonym)
				}
			}
		}
		if len(ix.words[word]) == 0 {
			ix.markPrefix(each, word)
		}
		for place, mark := range each {
			e.marks[place] += mark / float64(len(list))
		}
	}
	if p == nil || len(list) == 1 {
		return
	}
	worst := slices.Min(quality[:len(list)])
	for _, group := range p.groups {
		for _, h := range ix.groups[group] {
			e.marks[h.place] = max(e.marks[h.place], h.weight*worst*qualitySynonym)
		}
	}
}

// markPrefix notes words that begin with one that the index does not have.
func (ix *index) markPrefix(marks []float64, word string) {
	if len(word) < 3 {
		return
	}
	i, _ := slices.BinarySearch(ix.known, word)
	for ; i < len(ix.known) && strings.HasPrefix(ix.known[i], word); i++ {
		for _, h := range ix.words[ix.known[i]] {
			marks[h.place] = max(marks[h.place], h.weight*qualityPrefix)
		}
	}
}

// correct returns the word meant by one that may have a typing error, and how
// sure that is. A word that is known, or begins one, means itself.
func (ix *index) correct(word string) (string, float64) {
	if len(ix.words[word]) > 0 || trade().phrases[word] != nil {
		return word, 1
	}
	if i, _ := slices.BinarySearch(ix.known, word); len(word) >= 3 && i < len(ix.known) && strings.HasPrefix(ix.known[i], word) {
		return word, 1
	}
	typed := utf8.RuneCountInString(word)
	limit := near.Trusted(typed)
	best, least := "", limit+1
	for length := typed - limit; length <= typed+limit; length++ {
		for _, known := range ix.byLength[length] {
			if d := near.Distance(word, known, least-1); d < least || d == least && d <= limit && ix.rather(known, best, word) {
				best, least = known, d
			}
		}
	}
	if best == "" {
		return word, 1
	}
	return best, qualityTypo
}

// rather reports whether one word is a likelier meaning than another that is as
// near: it stands on the sheet, or it begins as what was typed does.
func (ix *index) rather(one, other, typed string) bool {
	if a, b := len(ix.words[one]) > 0, len(ix.words[other]) > 0; a != b {
		return a
	}
	return one[0] == typed[0] && other[0] != typed[0]
}
