package main

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"reflect"
	"strings"
	"time"

	"fairrun/design"
	"fairrun/design/sheet"
	"fairrun/stats/compare"
	"fairrun/stats/verdict"
)

// object is a JSON object whose members stay in order.
type object []member

type member struct {
	key   string
	value any
}

func (o object) MarshalJSON() ([]byte, error) {
	b := bytes.NewBufferString("{")
	for i, m := range o {
		value, err := json.Marshal(m.value)
		if err != nil {
			return nil, err
		}
		if i > 0 {
			b.WriteByte(',')
		}
		fmt.Fprintf(b, "%q:%s", m.key, value)
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}

// enumerations are the values of the text types that have names for all of theirs.
var enumerations = map[reflect.Type][]string{
	reflect.TypeFor[verdict.Scale](): {string(verdict.Raw), string(verdict.Log)},
	reflect.TypeFor[compare.Word](): {
		string(compare.Matters), string(compare.Real), string(compare.Trivial), string(compare.Equal), string(compare.Unresolved),
	},
	reflect.TypeFor[sheet.Role](): {string(sheet.Reference), string(sheet.Warmup)},
}

// canonicalPlan is a plan as the record of a draw has it.
type canonicalPlan struct {
	Schema string `json:"schema"`
	design.Plan
}

// schemaWriter gathers the schemas of named types.
type schemaWriter struct {
	closed bool // no field may stand in a value but those of its type
	names  map[reflect.Type]string
	defs   object
}

// schemaOf is the JSON Schema of what a type is written as. Fields that are always there are required. What may be null
// has that type too: pointers, and numbers that may be unknown; lists are never null. Fields that are added by a
// later version are allowed, unless closed.
func schemaOf(t reflect.Type, name string, closed bool) object {
	w := &schemaWriter{closed: closed, names: map[reflect.Type]string{}}
	root := w.members(t, name)
	out := object{
		{"$schema", "https://json-schema.org/draft/2020-12/schema"},
		{"$id", "urn:" + strings.NewReplacer(".", ":", "/", ":").Replace(name)},
		{"title", name},
		{"description", "Made from the types of the program. docs/json.md and docs/files.md say what each field holds."},
	}
	return append(append(out, root...), member{"$defs", w.defs})
}

// of is the schema of a value.
func (w *schemaWriter) of(t reflect.Type) object {
	switch t {
	case reflect.TypeFor[verdict.Number]():
		return object{{"type", []string{"number", "null"}}}
	case reflect.TypeFor[time.Time]():
		return object{{"type", "string"}, {"format", "date-time"}}
	case reflect.TypeFor[json.RawMessage](): // the plan in the record of a draw
		return w.of(reflect.TypeFor[canonicalPlan]())
	}
	if values := enumerations[t]; values != nil {
		return object{{"enum", values}}
	}
	switch t.Kind() {
	case reflect.Bool:
		return object{{"type", "boolean"}}
	case reflect.Int, reflect.Int32, reflect.Int64:
		return object{{"type", "integer"}}
	case reflect.Uint, reflect.Uint8, reflect.Uint64:
		return object{{"type", "integer"}, {"minimum", 0}}
	case reflect.Float64:
		return object{{"type", "number"}}
	case reflect.String:
		return object{{"type", "string"}}
	case reflect.Pointer:
		return object{{"anyOf", []object{w.of(t.Elem()), {{"type", "null"}}}}}
	case reflect.Slice:
		return object{{"type", "array"}, {"items", w.of(t.Elem())}}
	case reflect.Array:
		return object{{"type", "array"}, {"items", w.of(t.Elem())}, {"minItems", t.Len()}, {"maxItems", t.Len()}}
	case reflect.Struct:
		return object{{"$ref", "#/$defs/" + w.define(t)}}
	}
	panic("no schema for " + t.String())
}

// define adds the schema of a named type, once, and returns its name.
func (w *schemaWriter) define(t reflect.Type) string {
	if name := w.names[t]; name != "" {
		return name
	}
	name := t.Name()
	for _, other := range w.names {
		if other == name {
			name = strings.ReplaceAll(t.String(), ".", "_") // of another package
		}
	}
	w.names[t] = name
	w.defs = append(w.defs, member{name, object{}})
	k := len(w.defs) - 1
	w.defs[k].value = w.members(t, "")
	return name
}

// members is the schema of an object; schema, if not "", is the name that its field of that name must hold.
func (w *schemaWriter) members(t reflect.Type, schema string) object {
	var properties object
	required := []string{}
	for _, f := range reflect.VisibleFields(t) {
		tag := cmp.Or(f.Tag.Get("json"), f.Tag.Get("toml"))
		name, options, _ := strings.Cut(tag, ",")
		if name == "" || name == "-" {
			continue
		}
		of, optional := f.Type, strings.Contains(options, "omit")
		if optional && of.Kind() == reflect.Pointer {
			of = of.Elem() // left out, not null
		}
		if value := w.of(of); name == "schema" && schema != "" {
			properties = append(properties, member{name, object{{"const", schema}}})
		} else {
			properties = append(properties, member{name, value})
		}
		if !optional {
			required = append(required, name)
		}
	}
	out := object{{"type", "object"}, {"properties", properties}, {"required", required}}
	if w.closed {
		out = append(out, member{"additionalProperties", false})
	}
	return out
}
