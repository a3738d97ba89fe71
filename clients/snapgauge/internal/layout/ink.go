package layout

// Ink colours text, or leaves it plain: true is colour. Colour only repeats
// what the words say.
type Ink bool

// Style is one way to write text; its value is the parameter of the terminal's
// "select graphic rendition" sequence (ECMA-48, 8.3.117).
type Style string

// The styles in use.
const (
	Bold   Style = "1"
	Dim    Style = "2"
	Red    Style = "1;31"
	Orange Style = "31"
	Yellow Style = "33"
	Green  Style = "1;32"
	Blue   Style = "36"
)

// Write returns s in the style. Empty text stays empty, and without a style it stays as it is.
func (ink Ink) Write(style Style, s string) string {
	if !ink || s == "" || style == "" {
		return s
	}
	return "\x1b[" + string(style) + "m" + s + "\x1b[0m"
}
