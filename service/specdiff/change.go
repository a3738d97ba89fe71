package specdiff

import (
	"fmt"
	"slices"
	"strings"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

// maxClauses is how many differences a sentence tells before it only counts.
const maxClauses = 5

// change collects how one thing differs.
type change struct {
	fields []*pb.FieldChange
	effect effect
	// clauses say what differs, without the name of the thing: "72 to 80 N·m, was
	// 68 to 76 N·m". details and texts name what else differs, and quiet what a
	// sentence mentions only when nothing else does.
	clauses, details, texts, quiet []string
}

// none reports whether nothing differs. An effect alone is no difference.
func (c *change) none() bool { return len(c.fields) == 0 }

// field notes a field that differs, as people read it.
func (c *change) field(path, label, before, after string) {
	c.fields = append(c.fields, &pb.FieldChange{Field: path, Label: label, Before: before, After: after})
}

// say notes an effect and what the sentence tells of it.
func (c *change) say(e effect, format string, args ...any) {
	c.effect |= e
	c.clauses = append(c.clauses, fmt.Sprintf(format, args...))
}

// value notes a plain field if it differs, and reports whether it does.
func (c *change) value(path, label, before, after string) bool {
	if before == after {
		return false
	}
	c.field(path, label, before, after)
	return true
}

// detail notes something if it differs that the sentence only names.
func (c *change) detail(path, label, before, after string) {
	if c.value(path, label, before, after) {
		c.details = append(c.details, label)
	}
}

// text notes a text if it differs; the sentence tells only that it does.
func (c *change) text(path, label, before, after string) {
	if c.value(path, label, before, after) {
		c.texts = append(c.texts, label)
	}
}

// aside notes a text that a sentence passes over if it can.
func (c *change) aside(path, label, before, after string) {
	if c.value(path, label, before, after) {
		c.quiet = append(c.quiet, label)
	}
}

// nest takes over how a part of the thing differs.
func (c *change) nest(path, label string, part *change) {
	for _, f := range part.fields {
		c.field(path+"."+f.GetField(), label+", "+f.GetLabel(), f.GetBefore(), f.GetAfter())
	}
}

// told gives the parts of the sentence.
func (c *change) told() []string {
	told := slices.Clone(c.clauses)
	if more := len(told) - maxClauses; more > 1 {
		told = append(told[:maxClauses], numbered(more, "further difference"))
	}
	if len(c.details) > 0 {
		told = append(told, phrase.All(c.details)+" changed")
	}
	if len(c.texts) > 0 {
		told = append(told, phrase.All(c.texts)+" reworded")
	}
	if len(told) == 0 {
		told = append(told, phrase.All(c.quiet)+" changed")
	}
	return told
}

// sentence says the change in one sentence that begins with the thing's name.
func (c *change) sentence(name string) string {
	return phrase.Sentence("%s%s", opening(name), strings.Join(c.told(), "; "))
}

// opening begins a sentence about a thing.
func opening(name string) string {
	if strings.Contains(name, ": ") {
		return phrase.UpperFirst(name) + " – "
	}
	return phrase.UpperFirst(name) + ": "
}

// numbered counts things in words.
func numbered(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}
