package columns

import (
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/spelling"

	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/types/known/timestamppb"
)

// conventions are how one export writes what is not text.
type conventions struct {
	comma bool // decimal comma
	zone  *time.Location
	times timeLayout
	words words // of yes and no, and of enums
}

// plainly is how records are written, and so the constants of a map.
var plainly = conventions{times: timeLayout{
	layouts: []string{time.RFC3339}, offset: true,
}}

// value reads a cell that is not empty as a value of a field. ok is false where
// it is as good as empty. The problem says what is wrong, or is empty.
func (c *conventions) value(cell Cell, field protoreflect.FieldDescriptor, own words) (v protoreflect.Value, ok bool, problem string) {
	if meant, found := own.get(cell.text); found && cell.kind == cellText {
		if meant == "" {
			return v, false, ""
		}
		// What a map says that a word means is said as records say it.
		v, problem = plainly.read(Text(meant), field)
		return v, problem == "", problem
	}
	v, problem = c.read(cell, field)
	return v, problem == "", problem
}

func (c *conventions) read(cell Cell, field protoreflect.FieldDescriptor) (v protoreflect.Value, problem string) {
	switch field.Kind() {
	case protoreflect.StringKind:
		return protoreflect.ValueOfString(cell.String()), ""
	case protoreflect.BoolKind:
		text := cell.String()
		meant, ok := c.words.get(text)
		if !ok || meant != "true" && meant != "false" {
			meant, ok = truths.get(text)
		}
		if !ok {
			return v, fmt.Sprintf("got %q, want yes or no; the column map can say which words mean true and false", phrase.Clip(text))
		}
		return protoreflect.ValueOfBool(meant == "true"), ""
	case protoreflect.EnumKind:
		return c.enum(cell.String(), field.Enum())
	case protoreflect.DoubleKind:
		x, problem := c.decimal(cell)
		return protoreflect.ValueOfFloat64(x), problem
	case protoreflect.Int32Kind:
		x, problem := c.decimal(cell)
		switch {
		case problem != "":
		case x != math.Trunc(x):
			problem = fmt.Sprintf("got %s, want a whole number", phrase.Clip(cell.String()))
		case math.Abs(x) > math.MaxInt32:
			problem = fmt.Sprintf("got %s, which is too large", phrase.Clip(cell.String()))
		}
		if problem != "" {
			return v, problem
		}
		return protoreflect.ValueOfInt32(int32(x)), ""
	}
	t, problem := c.time(cell)
	if problem != "" {
		return v, problem
	}
	stamp := timestamppb.New(t)
	if stamp.CheckValid() != nil {
		return v, fmt.Sprintf("got %q, want a year from 1 to 9999", phrase.Clip(cell.String()))
	}
	return protoreflect.ValueOfMessage(stamp.ProtoReflect()), ""
}

func (c *conventions) decimal(cell Cell) (float64, string) {
	if cell.kind == cellNumber {
		if math.IsNaN(cell.number) || math.IsInf(cell.number, 0) {
			return 0, fmt.Sprintf("got %v, want a finite number", cell.number)
		}
		return cell.number, ""
	}
	text := cell.String()
	point := text
	if c.comma {
		if strings.Contains(text, ".") {
			return 0, fmt.Sprintf("got %q, want a number such as 12,5 without points", phrase.Clip(text))
		}
		point = strings.Replace(text, ",", ".", 1)
	}
	// The general parser takes more than people write: nan, 0x1p-2, 1_000.
	digit := false
	for i := range len(point) {
		isDigit := point[i] >= '0' && point[i] <= '9'
		digit = digit || isDigit
		if !isDigit && (!strings.ContainsRune("+-.eE", rune(point[i])) || !digit && point[i]|0x20 == 'e') {
			digit = false
			break
		}
	}
	if digit {
		if x, err := strconv.ParseFloat(point, 64); err == nil {
			return x, ""
		} else if math.IsInf(x, 0) {
			return 0, fmt.Sprintf("got %s, which is too large", phrase.Clip(text))
		}
	}
	return 0, fmt.Sprintf("got %q, want a number%s", phrase.Clip(text), c.hint(text))
}

// hint guesses what was meant by a text where a number is wanted.
func (c *conventions) hint(text string) string {
	rest := strings.TrimLeft(text, "+-0123456789")
	switch {
	case rest == text || rest == "":
		return ""
	case !c.comma && rest[0] == ',' && strings.Trim(rest, ",0123456789") == "":
		return "; where it is a decimal comma, the column map says decimal: comma"
	case strings.Trim(rest, ".,0123456789 ") != "":
		return "; the unit stands in the column map, not in the cell"
	}
	return ""
}

func (c *conventions) time(cell Cell) (time.Time, string) {
	switch cell.kind {
	case cellTime:
		if cell.local {
			return inZone(cell.time, c.zone)
		}
		return cell.time, ""
	case cellNumber:
		return time.Time{}, fmt.Sprintf("got the number %s, want a time", phrase.Clip(cell.String()))
	}
	return c.times.parse(cell.text, c.zone)
}

func (c *conventions) enum(text string, e protoreflect.EnumDescriptor) (v protoreflect.Value, problem string) {
	names := spelling.Of(e)
	if meant, ok := c.words.get(text); ok {
		if number, ok := names.Number(meant); ok {
			return protoreflect.ValueOfEnum(protoreflect.EnumNumber(number)), ""
		}
	}
	if number, ok := names.Number(text); ok {
		return protoreflect.ValueOfEnum(protoreflect.EnumNumber(number)), ""
	}
	return v, fmt.Sprintf("got %q%s", phrase.Clip(text), names.Advice(text))
}
