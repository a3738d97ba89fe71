package spec

import (
	"bytes"
	_ "embed"
	"fmt"
	"slices"
	"strings"
	"sync"

	"go.yaml.in/yaml/v3"
)

//go:embed words.yaml
var wordsYAML []byte

// vocabulary is what words.yaml says, arranged for reading phrases.
type vocabulary struct {
	phrases map[string]*idiom // by their words in the singular, joined by spaces
	longest int               // words in a phrase
	known   []string          // single words of synonyms, sorted
}

// idiom is one or several words that mean something together.
type idiom struct {
	ignored  bool
	groups   []int    // of synonyms
	intents  []string // kinds that are asked for
	question bool     // asks for a kind and names nothing
}

// trade is made when words are first looked up.
var trade = sync.OnceValue(func() *vocabulary {
	v, err := readVocabulary(wordsYAML)
	if err != nil {
		panic("spec: words.yaml: " + err.Error()) // part of the program
	}
	return v
})

func readVocabulary(data []byte) (*vocabulary, error) {
	var file struct {
		Ignored  []string   `yaml:"ignored"`
		Synonyms [][]string `yaml:"synonyms"`
		Intents  []struct {
			Kinds []string `yaml:"kinds"`
			Words []string `yaml:"words"`
		} `yaml:"intents"`
	}
	decoder := yaml.NewDecoder(bytes.NewReader(data))
	decoder.KnownFields(true)
	if err := decoder.Decode(&file); err != nil {
		return nil, err
	}
	v := &vocabulary{phrases: make(map[string]*idiom)}
	take := func(text string) (*idiom, error) {
		list := terms(text)
		if len(list) == 0 {
			return nil, fmt.Errorf("%q has no words", text)
		}
		v.longest = max(v.longest, len(list))
		key := strings.Join(list, " ")
		if v.phrases[key] == nil {
			v.phrases[key] = &idiom{}
		}
		return v.phrases[key], nil
	}
	for _, text := range file.Ignored {
		p, err := take(text)
		if err != nil {
			return nil, err
		}
		p.ignored = true
	}
	for group, texts := range file.Synonyms {
		for _, text := range texts {
			p, err := take(text)
			if err != nil {
				return nil, err
			}
			if !slices.Contains(p.groups, group) { // one word in two numbers
				p.groups = append(p.groups, group)
			}
			v.known = append(v.known, terms(text)...)
		}
	}
	for _, intent := range file.Intents {
		for _, text := range intent.Words {
			p, err := take(text)
			if err != nil {
				return nil, err
			}
			p.intents = append(p.intents, intent.Kinds...)
			p.question = p.ignored || strings.HasPrefix(text, "how ")
			p.ignored = false
		}
	}
	slices.Sort(v.known)
	v.known = slices.Compact(v.known)
	return v, nil
}

// terms splits a text into words in the singular.
func terms(text string) []string {
	list := words(text)
	for i, word := range list {
		list[i] = singular(word)
	}
	return list
}

// span is a phrase found in a text: its words, from the place first on.
type span struct {
	first, length int
	phrase        *idiom // nil for a word that means only itself
}

// spans reads a text as phrases, the longest at each place.
func (v *vocabulary) spans(list []string) []span {
	var result []span
	for i := 0; i < len(list); {
		s := span{first: i, length: 1}
		for n := min(v.longest, len(list)-i); n > 0; n-- {
			if p := v.phrases[strings.Join(list[i:i+n], " ")]; p != nil {
				s.length, s.phrase = n, p
				break
			}
		}
		result = append(result, s)
		i += s.length
	}
	return result
}
