package main

import (
	"bytes"
	"encoding/json"

	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"
)

// stableJSON writes a message in the protobuf JSON format, indented. The
// encoder varies its blanks on purpose; here they are always the same.
func stableJSON(m proto.Message) (string, error) {
	data, err := protojson.Marshal(m)
	if err != nil {
		return "", err
	}
	var b bytes.Buffer
	if err := json.Indent(&b, data, "", "  "); err != nil {
		return "", err
	}
	return b.String() + "\n", nil
}

// lineJSON is [stableJSON] on one line.
func lineJSON(m proto.Message) (string, error) {
	data, err := protojson.Marshal(m)
	if err != nil {
		return "", err
	}
	var b bytes.Buffer
	if err := json.Compact(&b, data); err != nil {
		return "", err
	}
	return b.String() + "\n", nil
}

// showJSON writes a message as one JSON document.
func (a *app) showJSON(m proto.Message) error {
	text, err := stableJSON(m)
	if err != nil {
		return err
	}
	_, _ = a.write([]byte(text))
	return nil
}
