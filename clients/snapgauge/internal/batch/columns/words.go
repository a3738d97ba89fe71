package columns

import "strings"

// words say what the words of a file mean: by what stands in a cell, in any case,
// what a record would have there. Nothing means that the cell is as good as empty.
type words map[string]string

func fold(s string) string { return strings.ToLower(strings.TrimSpace(s)) }

func (w words) get(text string) (meant string, ok bool) {
	if len(w) == 0 {
		return "", false
	}
	if meant, ok = w[text]; !ok {
		meant, ok = w[fold(text)]
	}
	return meant, ok
}

// truths are the words for yes and no that need not be said.
var truths = words{
	"true": "true", "yes": "true", "pass": "true", "passed": "true", "ok": "true", "1": "true",
	"false": "false", "no": "false", "fail": "false", "failed": "false", "not ok": "false", "0": "false",
}
