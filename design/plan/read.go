package plan

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"strconv"
	"strings"
	"unicode/utf8"

	"fairrun/design"
	"fairrun/design/disk"
	"fairrun/design/fault"
	"fairrun/design/store"
)

// mostBytes bounds the size of a plan.
const mostBytes = 1 << 20

// Read reads and checks the plan in a file. Its faults come joined, each a *fault.Fault; see fault.In.
func Read(path string) (*design.Plan, error) {
	data, err := readFile(path)
	return Of(path, data, err)
}

// Of is Read for a file that was read, or could not be.
func Of(path string, data []byte, err error) (*design.Plan, error) {
	if err == nil && len(data) > mostBytes {
		err = tooLarge(path)
	}
	if _, large := errors.AsType[*disk.SizeError](err); large {
		err = tooLarge(path)
	}
	if errors.Is(err, fs.ErrNotExist) {
		err = missingPlan{path, err}
	}
	if err != nil {
		return nil, err
	}
	return Parse(path, data)
}

// readFile returns the bytes of a file that is not too large to be a plan or a noise record.
func readFile(path string) ([]byte, error) {
	dir, name := filepath.Split(path)
	c := store.Read(dir, mostBytes, name)[0]
	if _, large := errors.AsType[*disk.SizeError](c.Err); large {
		return nil, tooLarge(path)
	}
	return c.Data, c.Err
}

// missingPlan says that there is no plan where one was looked for.
type missingPlan struct {
	path string
	err  error
}

func (e missingPlan) Error() string {
	return fmt.Sprintf("there is no %s in %s; \"fairrun init\" writes one", filepath.Base(e.path), folderOf(e.path))
}

func (e missingPlan) Unwrap() error { return e.err }

// folderOf names the folder of a path for a message.
func folderOf(path string) string {
	if dir := filepath.Dir(path); dir != "." {
		return dir
	}
	return "this folder"
}

func tooLarge(name string) error {
	return &fault.Fault{File: name, Found: "larger than 1 MiB, which no plan is", Do: "is this the right file?"}
}

// Parse reads and checks a plan; name is what its faults call the file. Defaults are resolved.
//
// It returns a Plan or an error, never both.
func Parse(name string, data []byte) (*design.Plan, error) {
	l, _, err := open(name, data)
	if err != nil {
		return nil, err
	}
	root, whole := parseDocument(l)
	if !whole {
		return nil, l.err()
	}
	r := planReader{ledger: l, names: newNames()}
	c := r.plan(root)
	if err := l.err(); err != nil {
		return nil, err
	}
	return c, nil
}

var utf8Mark = []byte("\xef\xbb\xbf")

// open checks that the bytes are text at all and takes off a byte order mark, whose length it
// returns.
func open(name string, data []byte) (l *ledger, mark int, err error) {
	if len(data) > mostBytes {
		return nil, 0, tooLarge(name)
	}
	text, marked := bytes.CutPrefix(data, utf8Mark)
	if marked {
		mark = len(utf8Mark)
	}
	l = newLedger(name, text)
	switch {
	case bytes.HasPrefix(data, []byte("\xff\xfe")) || bytes.HasPrefix(data, []byte("\xfe\xff")):
		l.add(wholeFile, "the file is UTF-16, not UTF-8", "save it again as UTF-8")
	case len(bytes.TrimSpace(text)) == 0:
		l.add(wholeFile, "the file is empty", `begin with the plan that "fairrun init" writes`)
	case !utf8.Valid(text):
		at := 0
		for {
			c, n := utf8.DecodeRune(text[at:])
			if c == utf8.RuneError && n <= 1 {
				break
			}
			at += n
		}
		l.add(at, fmt.Sprintf("the byte 0x%02X is not UTF-8", text[at]), "save the file again as UTF-8")
	}
	return l, mark, l.err()
}

// planReader reads the tables of a plan.
type planReader struct {
	*ledger
	names names
}

// plan reads the whole plan. Checks that need several tables are made only when those were read
// without fault, so that one slip is one message.
func (r *planReader) plan(root *table) *design.Plan {
	s := r.section(root, planHead)
	c := &design.Plan{}
	c.Title = s.headline("title")
	c.Scope = s.headline("scope")
	c.Seed = s.seed()

	tables := s.subs("factor")
	if root.byKey["factor"] == nil {
		s.missing("[[factor]]", "add at least one, with name and levels: what is set on purpose")
	}
	okFactors := len(tables) > 0
	places := make([]factorPlaces, len(tables))
	for i, t := range tables {
		f, p, ok := r.factor(t)
		c.Factors = append(c.Factors, f)
		places[i] = p
		okFactors = okFactors && ok
	}
	if t := s.sub("log", "[log]"); t != nil {
		c.Log = r.log(t)
	}
	for _, t := range s.subs("signal") {
		r.signal(t, c)
	}
	for _, t := range s.subs("response") {
		c.Responses = append(c.Responses, r.response(t, c))
	}
	if root.byKey["response"] == nil {
		s.missing("[[response]]", "add at least one, with name and better: what is measured")
	}
	c.Readings = r.readings(s.sub("readings", "[readings]"))
	block := s.sub("block", "[block]")
	if root.byKey["block"] == nil {
		s.missing("[block]", "add it, with count and replicates: how many packs or sessions, and how often each treatment is run in one")
	}
	okBlock := false
	if block != nil {
		c.Block, okBlock = r.block(block)
	}
	session := s.sub("session", "[session]")
	okSession := true
	if session != nil {
		c.Session, okSession = r.session(session)
	}
	if t := s.sub("items", "[items]"); t != nil {
		c.Items = r.items(t, c.Block)
	}
	if t := s.sub("specimens", "[specimens]"); t != nil {
		c.Specimens = r.specimens(t, c.Block)
	}
	drift, okDrift := r.drift(s.sub("drift", "[drift]"))
	c.Drift = drift
	analysis := s.sub("analysis", "[analysis]")
	c.Analysis = r.analysis(analysis, c.Readings)

	orderTable := s.sub("order", "[order]")
	var okOrder, okScreen bool
	c.Order, okOrder = r.order(orderTable)
	if c.Order.Screen, okScreen = r.screen(orderTable, c.Factors); !okScreen {
		okFactors = false // the treatments are not known
	}
	okTreatments := okFactors && r.treatments(root, s, c, places)
	if t := c.Block.Runs; okTreatments && okBlock && t > 0 && t%c.TreatmentsPerBlock() == 0 {
		c.Block.Replicates, c.Block.Runs = t/c.TreatmentsPerBlock(), 0 // complete blocks, however they are written
	}
	if okTreatments && okBlock && okOrder {
		r.noiseByLevel(c, analysis)
	}
	budget := s.sub("budget", "[budget]")
	if budget != nil {
		c.Budget = r.budget(budget, c)
	}
	if t := s.sub("rig", "[rig]"); t != nil {
		c.Rig = r.rig(t, r.file)
	}
	if t := s.sub("simulation", "[simulation]"); t != nil {
		c.Simulation = r.simulation(t, c)
	}
	if okTreatments {
		r.baselines(root, c)
	}
	if okBlock {
		r.looks(root, c)
	}
	if okTreatments && okBlock && okDrift && okOrder && r.together(c, root) && r.foldBlocks(c, orderTable) && r.fixedRuns(c, orderTable) {
		before := len(r.found)
		r.feasible(c, block, budget)
		if okSession && len(r.found) == before {
			r.hours(c, session, budget, block.byKey["replicates"] == nil)
		}
	}
	return c
}

// headline returns a text the plan must have.
func (s section) headline(key string) string {
	text, found, _ := s.text(key)
	if !found {
		s.lacks(key)
	}
	return text
}

// seed returns the seed, nil when the plan has none.
func (s section) seed() *uint64 {
	e := s.table.byKey["seed"]
	if e == nil {
		return nil
	}
	const do = "write a whole number from 0 to 9223372036854775807, or take it out and let \"fairrun sheet\" choose"
	if e.value.kind != kindInteger {
		s.add(e.value.at, "seed is "+e.value.describe(), do)
		return nil
	}
	n, err := strconv.ParseInt(strings.TrimPrefix(e.value.text, "+"), 0, 64)
	if err != nil || n < 0 {
		s.add(e.value.at, "seed is "+e.value.text, do)
		return nil
	}
	seed := uint64(n)
	return &seed
}
