package spec

import (
	"slices"
	"unicode/utf8"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

// index finds characteristics by words. It is immutable.
type index struct {
	characteristics []*pb.Characteristic
	kinds           []string                  // of each characteristic
	names           [][]string                // the words of each display name that count
	words           map[string][]hit          // by word in the singular
	groups          map[int][]hit             // by group of synonyms
	known           []string                  // words and synonyms, sorted, for typing errors
	byLength        map[int][]string          // known, by length in characters
	notes           map[string][]BulletinNote // of each characteristic that has some
}

// hit says that a characteristic has a word, and how much that counts.
type hit struct {
	place  int
	weight float64
}

// How much a word counts by where it stands.
const (
	weightName   = 1.0
	weightSearch = 0.9
	weightGroup  = 0.5
	weightText   = 0.35
)

func newIndex(characteristics []*pb.Characteristic, notes map[string][]BulletinNote) *index {
	ix := &index{
		characteristics: characteristics,
		kinds:           make([]string, len(characteristics)),
		names:           make([][]string, len(characteristics)),
		words:           make(map[string][]hit),
		groups:          make(map[int][]hit),
		byLength:        make(map[int][]string),
		notes:           notes,
	}
	for i, ch := range characteristics {
		ix.kinds[i] = kindName(ch)
		ix.names[i] = ix.take(i, ch.GetDisplayName(), weightName)
		for _, text := range ch.GetSearchWords() {
			ix.take(i, text, weightSearch)
		}
		ix.take(i, phrase.Name(ch.GetGroup()), weightGroup)
		ix.take(i, ch.GetId(), weightGroup)
		for _, text := range []string{
			ch.GetCapacity().GetFluid(), ch.GetFastener().GetThread(), ch.GetInspection().GetCriterion(),
			ch.GetAdjuster().GetReferencePosition(), ch.GetMethod(),
		} {
			ix.take(i, text, weightText)
		}
		for _, text := range ch.GetTools() {
			ix.take(i, text, weightText)
		}
	}
	ix.known = slices.Clone(trade().known)
	for word := range ix.words {
		ix.known = append(ix.known, word)
	}
	slices.Sort(ix.known)
	ix.known = slices.Compact(ix.known)
	for _, word := range ix.known {
		length := utf8.RuneCountInString(word)
		ix.byLength[length] = append(ix.byLength[length], word)
	}
	return ix
}

// take files the words of a text under a characteristic, and returns those
// that count.
func (ix *index) take(place int, text string, weight float64) []string {
	if text == "" {
		return nil
	}
	list := terms(text)
	var counted []string
	for _, s := range trade().spans(list) {
		if s.phrase != nil && s.phrase.ignored {
			continue
		}
		for _, word := range list[s.first : s.first+s.length] {
			counted = append(counted, word)
			file(ix.words, word, place, weight)
			// A word within a phrase also means what it means alone.
			if alone := trade().phrases[word]; alone != nil {
				for _, group := range alone.groups {
					file(ix.groups, group, place, weight)
				}
			}
		}
		if s.phrase != nil {
			for _, group := range s.phrase.groups {
				file(ix.groups, group, place, weight)
			}
		}
	}
	return counted
}

// file notes a hit, the heaviest for each characteristic. Characteristics come
// in order.
func file[K comparable](to map[K][]hit, key K, place int, weight float64) {
	hits := to[key]
	if n := len(hits); n > 0 && hits[n-1].place == place {
		hits[n-1].weight = max(hits[n-1].weight, weight)
		return
	}
	to[key] = append(hits, hit{place, weight})
}
