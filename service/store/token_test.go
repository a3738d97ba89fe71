package store_test

import (
	"errors"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"github.com/snapgauge/snapgauge/service/store"
)

var (
	tokenFilter = store.And{
		store.Compare{Field: store.FieldShop, Op: store.Equal, Value: "ridge-cycles"},
		store.Not{Expr: store.Compare{Field: store.FieldCreateTime, Op: store.Less, Value: time.Unix(1, 5000)}},
	}
	tokenCursor = store.CursorAfter(time.Date(2026, 3, 2, 8, 0, 0, 1000, time.UTC), "0195-0000000001")
)

// TestTokenFrozen holds the saved format still: tokens outlive the process that
// wrote them.
func TestTokenFrozen(t *testing.T) {
	t.Parallel()
	const canonical = `(and (shop = "ridge-cycles") (not (create_time < t1000005)))`
	if got := store.Canonical(tokenFilter); got != canonical {
		t.Errorf("canonical form: got %s, wanted %s", got, canonical)
	}
	const want = "1iWOD33h170qstjT4vnnkbgAGTAX5N-ABMDE5NS0wMDAwMDAwMDAx"
	if got := store.EncodeToken(tokenCursor, tokenFilter); got != want {
		t.Errorf("token: got %s, wanted %s", got, want)
	}
	if got, err := store.DecodeToken(want, tokenFilter); err != nil || got != tokenCursor {
		t.Errorf("cursor: got %v, error %v", got, err)
	}
}

func TestTokenRefuses(t *testing.T) {
	t.Parallel()
	good := store.EncodeToken(tokenCursor, tokenFilter)
	for _, test := range []struct {
		name, token string
		filter      store.Expr
		want        error
	}{
		{"another filter", good, nil, store.ErrTokenFilter},
		{"another value", good, store.Compare{Field: store.FieldShop, Op: store.Equal, Value: "valley-moto"}, store.ErrTokenFilter},
		{"filter of none", store.EncodeToken(tokenCursor, nil), tokenFilter, store.ErrTokenFilter},
		{"unknown version", "2" + good[1:], tokenFilter, store.ErrTokenVersion},
		{"unknown version, nothing else right", "9 \xff", tokenFilter, store.ErrTokenVersion},
		{"no version", good[1:], tokenFilter, store.ErrTokenVersion},
		{"version alone", "1", tokenFilter, store.ErrToken},
		{"cut short", good[:20], tokenFilter, store.ErrToken},
		{"padded", good + "=", tokenFilter, store.ErrToken},
		{"line break", good[:8] + "\n" + good[8:], tokenFilter, store.ErrToken},
		{"standard alphabet", "1" + strings.Repeat("+/+/", 12), tokenFilter, store.ErrToken},
		{"bad id", store.EncodeToken(store.CursorAfter(time.Unix(0, 0), "A B"), nil), nil, store.ErrToken},
		{"long id", store.EncodeToken(store.CursorAfter(time.Unix(0, 0), strings.Repeat("a", 65)), nil), nil, store.ErrToken},
	} {
		c, err := store.DecodeToken(test.token, test.filter)
		if !errors.Is(err, test.want) || !errors.Is(err, store.ErrToken) || !c.IsZero() {
			t.Errorf("%s: got %v, error %v, wanted %v", test.name, c, err, test.want)
		}
	}
	if c, err := store.DecodeToken("", tokenFilter); err != nil || !c.IsZero() {
		t.Errorf("empty: got %v, error %v", c, err)
	}
	if got := store.EncodeToken(store.Cursor{}, tokenFilter); got != "" {
		t.Errorf("zero cursor: got %q", got)
	}
}

func TestTokenRoundTrip(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		c := store.CursorAfter(time.UnixMicro(rapid.Int64().Draw(t, "micros")), rapid.StringMatching(`[a-z0-9-]{1,64}`).Draw(t, "id"))
		token := store.EncodeToken(c, tokenFilter)
		if got, err := store.DecodeToken(token, tokenFilter); err != nil || got != c {
			t.Fatalf("%s: got %v, error %v, wanted %v", token, got, err, c)
		}
		if len(token) > 1024 || strings.Trim(token, "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_") != "" {
			t.Fatalf("%q is not fit for a URL", token)
		}
	})
}

func TestCanonicalTellsApart(t *testing.T) {
	t.Parallel()
	is := func(v any) store.Expr { return store.Compare{Field: store.FieldShop, Op: store.Equal, Value: v} }
	seen := make(map[string]int)
	for i, e := range []store.Expr{
		nil, store.And{}, store.Or{}, is("a"), is(`a" "b`), is("a b"), is("é"), is(`\u00e9`),
		store.And{is("a")}, store.And{is("a"), is("b")}, store.And{is("b"), is("a")},
		store.And{store.And{is("a")}, is("b")}, store.And{store.And{is("a"), is("b")}}, store.Not{Expr: is("a")},
		store.Compare{Field: store.FieldShop, Op: store.HasPrefix, Value: "a"},
		store.Compare{Field: store.FieldModelYear, Op: store.Less, Value: int64(1)},
		store.Compare{Field: store.FieldModelYear, Op: store.LessEqual, Value: int64(1)},
		store.Compare{Field: store.FieldCreateTime, Op: store.Less, Value: time.UnixMicro(1)},
	} {
		text := store.Canonical(e)
		if j, ok := seen[text]; ok {
			t.Errorf("%d and %d are both %s", i, j, text)
		}
		seen[text] = i
	}
}

// FuzzDecodeToken looks for panics and for tokens with two spellings.
func FuzzDecodeToken(f *testing.F) {
	f.Add(store.EncodeToken(tokenCursor, tokenFilter))
	f.Add(store.EncodeToken(tokenCursor, nil))
	f.Add("")
	f.Add("2abc")
	f.Fuzz(func(t *testing.T, token string) {
		for _, filter := range []store.Expr{nil, tokenFilter} {
			c, err := store.DecodeToken(token, filter)
			if err != nil {
				if !errors.Is(err, store.ErrToken) || !c.IsZero() {
					t.Fatalf("got %v, error %v", c, err)
				}
				continue
			}
			if again := store.EncodeToken(c, filter); again != token {
				t.Fatalf("got %q, wanted %q", again, token)
			}
		}
	})
}
