package pagetest

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// Elements parses HTML as strictly as XML, and calls what is given for each
// element and for each text.
func Elements(t testing.TB, html []byte, element func(xml.StartElement), words func(within, text string)) {
	t.Helper()
	d := xml.NewDecoder(bytes.NewReader(html))
	d.Entity, d.AutoClose = xml.HTMLEntity, xml.HTMLAutoClose
	var stack []string
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("not well-formed: %v", err)
		}
		switch token := token.(type) {
		case xml.StartElement:
			stack = append(stack, token.Name.Local)
			if element != nil {
				element(token)
			}
		case xml.EndElement:
			stack = stack[:len(stack)-1]
		case xml.CharData:
			if words != nil && len(stack) > 0 {
				words(stack[len(stack)-1], string(token))
			}
		}
	}
}

// elsewhere is what would fetch something, or would lead there.
var elsewhere = regexp.MustCompile(`url\(|@import|https?:`)

// Sound parses a page as [Elements] does. It is well-formed, says its language,
// gives an identifier once, and every reference to one has its target; headings
// leave no level out; tables have captions and heads with a scope; drawings are
// named or hidden; what the keyboard reaches has a name; nothing comes from
// elsewhere, and nothing runs.
func Sound(t testing.TB, html []byte) {
	t.Helper()
	ids, refs := map[string]bool{}, map[string]bool{}
	var level, tables, captions, mains int
	var lang string
	Elements(t, html, func(e xml.StartElement) {
		name := e.Name.Local
		if id := attr(e, "id"); id != "" {
			if ids[id] {
				t.Errorf("identifier %q twice", id)
			}
			ids[id] = true
		}
		for _, a := range e.Attr {
			switch a.Name.Local {
			case "aria-labelledby", "aria-describedby":
				for _, id := range strings.Fields(a.Value) {
					refs[id] = true
				}
			case "href":
				id, ok := strings.CutPrefix(a.Value, "#")
				if !ok {
					t.Errorf("%s goes to %q", name, a.Value)
				}
				refs[id] = true
			case "src", "srcset", "action", "formaction", "ping", "background", "data":
				t.Errorf("%s has %s", name, a.Name.Local)
			}
			if strings.HasPrefix(a.Name.Local, "on") {
				t.Errorf("%s has %s", name, a.Name.Local)
			}
		}
		switch name {
		case "html":
			lang = attr(e, "lang")
		case "main":
			mains++
		case "script", "link", "iframe", "object", "embed", "form", "img", "image", "use", "foreignObject", "base":
			t.Errorf("there is a %s", name)
		case "h1", "h2", "h3", "h4", "h5", "h6":
			l := int(name[1] - '0')
			if l > level+1 {
				t.Errorf("%s after h%d", name, level)
			}
			level = l
		case "table":
			tables++
		case "caption":
			captions++
		case "th":
			if s := attr(e, "scope"); s != "col" && s != "row" {
				t.Errorf("th with scope %q", s)
			}
		case "svg":
			if attr(e, "aria-hidden") != "true" && (attr(e, "role") != "img" || attr(e, "aria-label") == "") {
				t.Errorf("svg neither named nor hidden: %v", e.Attr)
			}
		}
		if has(e, "tabindex") && name != "main" && (attr(e, "role") == "" || attr(e, "aria-labelledby") == "") {
			t.Errorf("%s is reached without a name", name)
		}
	}, nil)
	for id := range refs {
		if !ids[id] {
			t.Errorf("nothing is called %q", id)
		}
	}
	if lang != "en" || mains != 1 || tables != captions {
		t.Errorf("language %q, %d main, %d tables with %d captions", lang, mains, tables, captions)
	}
	if c := elsewhere.Find(html); c != nil {
		t.Errorf("the page has %q", c)
	}
}

func attr(e xml.StartElement, name string) string {
	for _, a := range e.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

func has(e xml.StartElement, name string) bool {
	return slices.ContainsFunc(e.Attr, func(a xml.Attr) bool { return a.Name.Local == name })
}
