package pagetest

import (
	"bytes"
	"os/exec"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

var (
	mediaBox = regexp.MustCompile(`/MediaBox ?\[0 0 ([0-9.]+) ([0-9.]+)\]`)
	onePage  = regexp.MustCompile(`/Type ?/Page\b[^s]`)
)

// Sizes are the sizes of a PDF's pages in points. A box that pages inherit counts
// once for each of them.
func Sizes(pdf []byte) [][2]float64 {
	var out [][2]float64
	for _, m := range mediaBox.FindAllSubmatch(pdf, -1) {
		w, _ := strconv.ParseFloat(string(m[1]), 64)
		h, _ := strconv.ParseFloat(string(m[2]), 64)
		out = append(out, [2]float64{w, h})
	}
	if pages := len(onePage.FindAll(pdf, -1)); len(out) == 1 {
		for len(out) < pages {
			out = append(out, out[0])
		}
	}
	return out
}

// NeedText skips a test of the words of a PDF where the program is missing that
// [Texts] runs; in continuous integration it must be there.
func NeedText(t *testing.T) {
	t.Helper()
	if _, err := exec.LookPath("pdftotext"); err != nil {
		missing(t, err)
	}
}

// Texts gives the words of each page of a PDF, as "-raw", in the order in which they
// are drawn, or as "-layout", in lines as they stand.
func Texts(t *testing.T, pdf []byte, order string) []string {
	t.Helper()
	cmd := exec.Command("pdftotext", order, "-enc", "UTF-8", "-", "-")
	cmd.Stdin = bytes.NewReader(pdf)
	text, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	return strings.Split(strings.TrimSuffix(string(text), "\f"), "\f")
}
