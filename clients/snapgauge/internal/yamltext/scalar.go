// Package yamltext writes texts in YAML that a person is to go on with.
package yamltext

import (
	"bytes"
	"encoding/json"
	"regexp"
	"strings"
)

// plain is text that YAML takes as text without quotes.
var plain = regexp.MustCompile(`^[A-Za-z][A-Za-z0-9_·/-]*( [A-Za-z0-9_·/-]+)*$`)

// words that YAML takes for something else than text, in one version or another.
var notText = regexp.MustCompile(`(?i)^(true|false|yes|no|on|off|y|n|null|nan|inf)$`)

// Scalar writes a text so that YAML reads it as that text, with quotes only where it
// needs them.
func Scalar(s string) string {
	if plain.MatchString(s) && !notText.MatchString(s) {
		return s
	}
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	_ = e.Encode(s) // a string can always be written
	return strings.TrimSpace(b.String())
}
