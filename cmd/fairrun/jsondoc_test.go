package main

import (
	"os"
	"reflect"
	"strings"
	"testing"

	"fairrun/design/analysis"
	"fairrun/design/rehearse"
	"fairrun/design/size"
	"fairrun/stats/verdict"
)

// TestJSONDocument looks for every field of the JSON that is printed in its document.
func TestJSONDocument(t *testing.T) {
	text, err := os.ReadFile("../../docs/json.md")
	if err != nil {
		t.Fatal(err)
	}
	fields := map[string]bool{}
	named(reflect.TypeFor[verdict.Verdict](), fields)
	named(reflect.TypeFor[size.Replicates](), fields)
	named(reflect.TypeFor[rehearse.Rehearsal](), fields)
	named(reflect.TypeFor[analysis.ExtensionSummary](), fields)
	if len(fields) < 90 {
		t.Errorf("%d fields were found in the types, want 90 or more", len(fields))
	}
	for f := range fields {
		if !strings.Contains(string(text), "`"+f+"`") {
			t.Errorf("docs/json.md does not mention %q", f)
		}
	}
}

// named gathers the names that the fields of a type have in JSON.
func named(t reflect.Type, fields map[string]bool) {
	switch t.Kind() {
	case reflect.Pointer, reflect.Slice:
		named(t.Elem(), fields)
	case reflect.Struct:
		for i := range t.NumField() {
			f := t.Field(i)
			if name, _, _ := strings.Cut(f.Tag.Get("json"), ","); name != "" && name != "-" {
				fields[name] = true
			}
			named(f.Type, fields)
		}
	}
}
