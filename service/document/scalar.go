package document

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"time"

	"go.yaml.in/yaml/v3"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/types/known/timestamppb"

	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/spelling"
)

const timestampName = "google.protobuf.Timestamp"

// scalar reads one value. The problem says what is wrong with it, or is empty.
// A time stamp is made by fresh.
func scalar(n *yaml.Node, field protoreflect.FieldDescriptor, fresh func() protoreflect.Value) (v protoreflect.Value, problem string) {
	switch field.Kind() {
	case protoreflect.StringKind:
		if strings.ContainsRune(n.Value, 0) {
			return v, "got a NUL character in the text"
		}
		return protoreflect.ValueOfString(n.Value), ""
	case protoreflect.BoolKind:
		if n.Tag != "!!bool" || n.Value != "true" && n.Value != "false" {
			return v, unwanted(n, field)
		}
		return protoreflect.ValueOfBool(n.Value == "true"), ""
	case protoreflect.EnumKind:
		return enum(n, field.Enum())
	case protoreflect.DoubleKind:
		x, problem := number(n, field)
		return protoreflect.ValueOfFloat64(x), problem
	case protoreflect.Int32Kind:
		x, problem := number(n, field)
		switch {
		case problem != "":
		case x != math.Trunc(x):
			problem = unwanted(n, field)
		case x < math.MinInt32 || x > math.MaxInt32:
			problem = fmt.Sprintf("got %s, which is too large", phrase.Clip(n.Value))
		}
		if problem != "" {
			return v, problem
		}
		return protoreflect.ValueOfInt32(int32(x)), ""
	case protoreflect.MessageKind:
		t, problem := timestamp(n)
		if problem != "" {
			return v, problem
		}
		v = fresh()
		stamp := v.Message()
		fields := stamp.Descriptor().Fields()
		stamp.Set(fields.ByName("seconds"), protoreflect.ValueOfInt64(t.GetSeconds()))
		stamp.Set(fields.ByName("nanos"), protoreflect.ValueOfInt32(t.GetNanos()))
		return v, ""
	}
	return v, "cannot be written in a document"
}

// decimal is how numbers are written: without leading zeros, which YAML takes
// for octal and people do not.
var decimal = regexp.MustCompile(`^[-+]?(0|[1-9][0-9]*)?(\.[0-9]*)?([eE][-+]?[0-9]+)?$`)

func number(n *yaml.Node, field protoreflect.FieldDescriptor) (float64, string) {
	if n.Tag != "!!int" && n.Tag != "!!float" {
		switch {
		case n.Tag != "!!str":
			return 0, unwanted(n, field)
		case n.Style == 0 && decimal.MatchString(n.Value) && strings.ContainsAny(n.Value, "0123456789"):
			return 0, fmt.Sprintf("got %s, which is too large", phrase.Clip(n.Value))
		}
		return 0, unwanted(n, field) + hint(n.Value)
	}
	if lower := strings.ToLower(n.Value); strings.Contains(lower, "nan") || strings.Contains(lower, "inf") {
		return 0, fmt.Sprintf("got %s, want a finite number", phrase.Clip(n.Value))
	}
	if !decimal.MatchString(n.Value) {
		return 0, fmt.Sprintf("got %s, want a decimal number without leading zeros", phrase.Clip(n.Value))
	}
	x, err := strconv.ParseFloat(n.Value, 64)
	if err != nil {
		return 0, fmt.Sprintf("got %s, which is too large", phrase.Clip(n.Value))
	}
	return x, ""
}

var (
	commaNumber  = regexp.MustCompile(`^\s*[-+]?[0-9]+,[0-9]+\s*$`)
	numberInText = regexp.MustCompile(`^\s*[-+]?[0-9]+([.,][0-9]+)?\s*$`)
	numberUnit   = regexp.MustCompile(`^\s*[-+]?[0-9]+([.,][0-9]+)?\s*[^0-9\s.,]`)
)

// hint guesses what was meant by a text where a number is wanted.
func hint(text string) string {
	switch {
	case commaNumber.MatchString(text):
		return "; the decimal sign is a point"
	case numberInText.MatchString(text):
		return "; leave out the quotation marks"
	case numberUnit.MatchString(text):
		return "; the unit does not belong to the number"
	}
	return ""
}

func timestamp(n *yaml.Node) (*timestamppb.Timestamp, string) {
	const want = "want a time such as 2026-03-01T09:20:00Z or 2026-03-01T10:20:00+01:00"
	if n.Tag != "!!timestamp" && n.Tag != "!!str" {
		return nil, fmt.Sprintf("got %s, %s", describe(n), want)
	}
	t, err := time.Parse(time.RFC3339Nano, n.Value)
	if err != nil || strings.Contains(n.Value, ",") {
		return nil, fmt.Sprintf("got %q, %s", phrase.Clip(n.Value), want)
	}
	stamp := timestamppb.New(t)
	if stamp.CheckValid() != nil {
		return nil, fmt.Sprintf("got %q, want a year from 1 to 9999", phrase.Clip(n.Value))
	}
	return stamp, ""
}

func unwanted(n *yaml.Node, field protoreflect.FieldDescriptor) string {
	return fmt.Sprintf("got %s, want %s", describe(n), wanted(field))
}

// wanted says what a value of the field looks like.
func wanted(field protoreflect.FieldDescriptor) string {
	switch field.Kind() {
	case protoreflect.StringKind:
		return "text"
	case protoreflect.BoolKind:
		return "true or false"
	case protoreflect.DoubleKind:
		return "a number"
	case protoreflect.Int32Kind:
		return "a whole number"
	case protoreflect.EnumKind:
		return "one of " + spelling.Of(field.Enum()).All()
	case protoreflect.MessageKind:
		if field.Message().FullName() == timestampName {
			return "a time such as 2026-03-01T09:20:00Z"
		}
		return "fields such as " + fieldExamples(field.Message())
	}
	return "something else"
}

// describe says what was found.
func describe(n *yaml.Node) string {
	switch n.Kind {
	case yaml.MappingNode:
		return "fields"
	case yaml.SequenceNode:
		return "a list"
	}
	switch n.Tag {
	case "!!null":
		return "nothing"
	case "!!int", "!!float":
		return "the number " + phrase.Clip(n.Value)
	case "!!bool":
		return phrase.Clip(n.Value)
	case "!!timestamp":
		return "the time " + phrase.Clip(n.Value)
	}
	return fmt.Sprintf("text %q", phrase.Clip(n.Value))
}
