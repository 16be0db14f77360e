package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/pelletier/go-toml/v2"
	"github.com/santhosh-tekuri/jsonschema/v6"

	"fairrun/design/analysis"
	"fairrun/design/measure"
	"fairrun/design/plan"
	"fairrun/design/rehearse"
	"fairrun/design/sheet"
	"fairrun/design/size"
	"fairrun/stats/verdict"
)

// drawRecord is draw.json.
type drawRecord struct {
	Schema string `json:"schema"`
	sheet.Draw
}

// schemas lists what has a JSON Schema in docs/schema: the type that is written, and the name of its form.
var schemas = []struct {
	of   reflect.Type
	name string
}{
	{reflect.TypeFor[verdict.Verdict](), verdict.Schema},
	{reflect.TypeFor[analysis.SheetSummary](), analysis.SheetSchema},
	{reflect.TypeFor[analysis.ExtensionSummary](), analysis.ExtensionSchema},
	{reflect.TypeFor[size.Replicates](), size.Schema},
	{reflect.TypeFor[rehearse.Rehearsal](), rehearse.Schema},
	{reflect.TypeFor[drawRecord](), sheet.DrawSchema},
	{reflect.TypeFor[plan.NoiseRecord](), noiseSchema},
	{reflect.TypeFor[measure.Measured](), measure.Schema},
}

// noiseSchema names the form of a noise record, which is TOML and does not say it.
const noiseSchema = "fairrun.noise/2"

// schemaFile is where the schema of a form stands: "fairrun.sheet/2" in sheet.schema.json.
func schemaFile(name string) string {
	short := regexp.MustCompile(`\.(.*)/`).FindStringSubmatch(name)[1]
	return filepath.Join("..", "..", "docs", "schema", short+".schema.json")
}

// TestSchemas compares docs/schema with the types; UPDATE_DOCS=1 writes it.
func TestSchemas(t *testing.T) {
	t.Parallel()
	for _, s := range schemas {
		want, err := json.MarshalIndent(schemaOf(s.of, s.name, false), "", "  ")
		if err != nil {
			t.Fatal(err)
		}
		want = append(want, '\n')
		path := schemaFile(s.name)
		if os.Getenv("UPDATE_DOCS") != "" {
			if err := os.WriteFile(path, want, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		got, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(string(want), strings.ReplaceAll(string(got), "\r\n", "\n")); diff != "" {
			t.Errorf("%s is not that of the types; write it with UPDATE_DOCS=1 go test ./cmd/fairrun -run TestSchemas (-types +file):\n%s", path, diff)
		}
	}
}

// closedSchemas are the schemas by name, in which no field is allowed that the types do not have.
var closedSchemas = sync.OnceValues(func() (map[string]*jsonschema.Schema, error) {
	out := map[string]*jsonschema.Schema{}
	for _, s := range schemas {
		text, err := json.Marshal(schemaOf(s.of, s.name, true))
		if err != nil {
			return nil, err
		}
		document, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
		if err != nil {
			return nil, err
		}
		c := jsonschema.NewCompiler()
		c.AssertFormat()
		if err := c.AddResource(s.name, document); err != nil {
			return nil, err
		}
		if out[s.name], err = c.Compile(s.name); err != nil {
			return nil, err
		}
	}
	return out, nil
})

// bySchema says what of a JSON value is not as the schema that it names has it.
func bySchema(text []byte) error {
	value, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		return err
	}
	fields, _ := value.(map[string]any)
	name, _ := fields["schema"].(string)
	return followsSchema(value, name)
}

func followsSchema(value any, name string) error {
	all, err := closedSchemas()
	if err != nil {
		return err
	}
	if all[name] == nil {
		return fmt.Errorf("there is no schema %q", name)
	}
	return all[name].Validate(value)
}

// TestSchemasRefuse changes a value that follows its schema: each change must be refused.
func TestSchemasRefuse(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	text, err := os.ReadFile(filepath.Join("testdata", "golden", "complete.toml"))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, planFile), text, 0o644); err != nil {
		t.Fatal(err)
	}
	good := output(t, "sheet", dir, "--format", "json")
	if err := bySchema([]byte(good)); err != nil {
		t.Fatal(err)
	}
	for _, change := range [][2]string{
		{`"campaign": \{`, `"more": 1, "campaign": {`},
		{`"fairrun.sheet/2"`, `"fairrun.sheet/3"`},
		{`"acceptance": [0-9.]+,`, ``},
		{`"seed": `, `"seed": -`},
		{`"responses": \[\]`, `"responses": null`},
		{`"model": "[a-z]+"`, `"model": null`},
		{`"orders_listed": [a-z]+`, `"orders_listed": 1`},
	} {
		bad := regexp.MustCompile(change[0]).ReplaceAllString(good, change[1])
		if bad == good {
			t.Fatalf("there is no %s in:\n%s", change[0], good)
		}
		if err := bySchema([]byte(bad)); err == nil {
			t.Errorf("%s in place of %s is not refused", change[1], change[0])
		}
	}
}

// TestOutputsFollowSchemas makes the JSON of every command for several kinds of plan, with the files that they
// write, and compares it with the schemas.
func TestOutputsFollowSchemas(t *testing.T) {
	t.Parallel()
	for _, file := range []string{"golden/complete.toml", "golden/position.toml", "golden/whole_plots.toml", "golden/fold_over_blocks.toml", "same/incomplete_whole_plots.toml"} {
		t.Run(filepath.Base(file), func(t *testing.T) {
			t.Parallel()
			text, err := os.ReadFile(filepath.Join("testdata", file))
			if err != nil {
				t.Fatal(err)
			}
			dir := t.TempDir()
			if err := os.WriteFile(filepath.Join(dir, planFile), append(text, "margin = \"2%\"\nnoise = \"1.5%\"\n"...), 0o644); err != nil {
				t.Fatal(err)
			}
			follow := func(args ...string) {
				t.Helper()
				if err := bySchema([]byte(output(t, append(args, dir, "--format", "json")...))); err != nil {
					t.Errorf("%v: %v", args, err)
				}
			}
			follow("sheet")
			follow("sheet", "--show", "--explain")
			follow("replicates", "--most", "40")
			if !strings.Contains(file, "fold_over") {
				follow("rehearse", "--campaigns", "20")
			}
			follow("verdict", "--orders", "100") // nothing is recorded yet
			fillIn(t, filepath.Join(dir, sheet.File))
			record := filepath.Join(dir, plan.NoiseFile)
			follow("verdict", "--orders", "100", "--save-noise", record)
			follow("replicates", "--most", "40")
			follow("extend", "--blocks", "2")
			draw, err := os.ReadFile(filepath.Join(dir, sheet.DrawFile))
			if err != nil {
				t.Fatal(err)
			}
			if err := bySchema(draw); err != nil {
				t.Errorf("%s: %v", sheet.DrawFile, err)
			}
			noise, err := os.ReadFile(record)
			if err != nil {
				t.Fatal(err)
			}
			var value map[string]any
			if err := toml.Unmarshal(noise, &value); err != nil {
				t.Fatal(err)
			}
			plain, err := json.Marshal(value)
			if err != nil {
				t.Fatal(err)
			}
			again, err := jsonschema.UnmarshalJSON(bytes.NewReader(plain))
			if err != nil {
				t.Fatal(err)
			}
			if err := followsSchema(again, noiseSchema); err != nil {
				t.Errorf("%s: %v", plan.NoiseFile, err)
			}
		})
	}
}
