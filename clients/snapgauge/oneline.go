package main

import (
	"regexp"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
)

var colours = regexp.MustCompile("\x1b\\[[0-9;]*m")

// oneLine is a text that was laid out, on one line and without colour.
func oneLine(s string) string { return layout.Clean(colours.ReplaceAllString(s, "")) }
