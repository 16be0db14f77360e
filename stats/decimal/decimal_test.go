package decimal

import (
	"errors"
	"math"
	"math/big"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

func column(t testing.TB, texts ...string) *Column {
	t.Helper()
	var c Column
	for _, s := range texts {
		if s == "" {
			c.AppendMissing()
		} else if err := c.Append([]byte(s)); err != nil {
			t.Fatal(err)
		}
	}
	return &c
}

func TestAppendRejects(t *testing.T) {
	digits := strings.Repeat("1", MaxText)
	for _, c := range []struct {
		text string
		want error
	}{
		{"", ErrSyntax}, {" ", ErrSyntax}, {" 1", ErrSyntax}, {"1 ", ErrSyntax},
		{"NaN", ErrSyntax}, {"nan", ErrSyntax}, {"Inf", ErrSyntax}, {"-inf", ErrSyntax}, {"infinity", ErrSyntax},
		{"0x1p-2", ErrSyntax}, {"0x10", ErrSyntax}, {"1_000", ErrSyntax}, {"1,5", ErrSyntax}, {"1.000,5", ErrSyntax},
		{".", ErrSyntax}, {"-", ErrSyntax}, {"+", ErrSyntax}, {"-.", ErrSyntax}, {"--1", ErrSyntax}, {"+-1", ErrSyntax},
		{"1.2.3", ErrSyntax}, {"1e", ErrSyntax}, {"1e+", ErrSyntax}, {"e5", ErrSyntax}, {".e5", ErrSyntax},
		{"1e5.0", ErrSyntax}, {"1e5e5", ErrSyntax}, {"1f", ErrSyntax}, {"−1", ErrSyntax}, {"1\x00", ErrSyntax}, {"١", ErrSyntax},
		{"1e309", ErrRange}, {"-1e309", ErrRange}, {"1e999999999999999999999", ErrRange}, {"1.7976931348623159e308", ErrRange},
		{"1e-324", ErrRange}, {"1e-99999999999999999999", ErrRange}, {"0." + strings.Repeat("0", 400) + "1", ErrRange},
		{digits + "1", ErrLong}, {digits, ErrRange},
	} {
		col := column(t, "2.5")
		err := col.Append([]byte(c.text))
		if !errors.Is(err, c.want) {
			t.Errorf("Append(%.40q) = %v, want %v", c.text, err, c.want)
		} else if len(c.text) < 40 && !strings.Contains(err.Error(), c.text) && c.text != "1\x00" {
			t.Errorf("Append(%q) = %v, without the text", c.text, err)
		}
		if len(err.Error()) > 250 {
			t.Errorf("Append(%.40q): an error of %d bytes", c.text, len(err.Error()))
		}
		if col.Len() != 1 || col.Floats()[0] != 2.5 {
			t.Errorf("Append(%.40q) changed the column", c.text)
		}
	}
}

// The wanted values are the compiler's conversions of the same literals.
func TestFloats(t *testing.T) {
	zeros := strings.Repeat("0", 400)
	for _, c := range []struct {
		text string
		want float64
	}{
		{"0", 0}, {"-0", 0}, {"0.000", 0}, {"0e999999", 0}, {"1", 1}, {"-1", -1}, {"+12.5", 12.5}, {"-3e4", -3e4},
		{".5", .5}, {"5.", 5}, {"1E+05", 1e5}, {"1e-05", 1e-5}, {"007.50", 7.5}, {"120", 120}, {"1000000000000.4", 1000000000000.4},
		{"0.1", 0.1}, {"1e22", 1e22}, {"1e23", 1e23}, {"123456789e-30", 123456789e-30},
		{"9007199254740993", 9007199254740993}, {"999999999999999999", 999999999999999999},
		{"9223372036854775808", 9223372036854775808}, {"1.00000000000000011102230246251565404", 1.00000000000000011102230246251565404},
		{"1.7976931348623157e308", math.MaxFloat64}, {"5e-324", math.SmallestNonzeroFloat64}, {"2.5e-324", math.SmallestNonzeroFloat64},
		{"1" + zeros + "e-400", 1}, {"0." + zeros + "1e401", 1}, {"1" + strings.Repeat("0", 300) + ".0", 1e300},
		{"3." + strings.Repeat("3", 1000), 10. / 3},
	} {
		if got := column(t, c.text).Floats()[0]; got != c.want || math.Signbit(got) != math.Signbit(c.want) {
			t.Errorf("%.40q = %v, want %v", c.text, got, c.want)
		}
	}
	if got := column(t, "1", "", "2").Floats(); len(got) != 3 || !math.IsNaN(got[1]) {
		t.Errorf("with a row missing: %v", got)
	}
}

var syntax = regexp.MustCompile(`^([+-]?(?:\d+\.?\d*|\.\d+))(?:[eE]([+-]?\d+))?$`)

// rational returns the number of a text as math/big reads it, with its exponent
// cut to ±9999 so that no exponent takes for ever.
func rational(text string) (x *big.Rat, ok bool) {
	m := syntax.FindStringSubmatch(text)
	if m == nil {
		return nil, false
	}
	x, ok = new(big.Rat).SetString(m[1])
	if !ok || m[2] == "" || x.Sign() == 0 {
		return x, ok
	}
	e, err := strconv.Atoi(m[2])
	if err != nil || e < -9999 || e > 9999 {
		e = 9999
		if m[2][0] == '-' {
			e = -9999
		}
	}
	power, _ := new(big.Rat).SetString("1e" + strconv.Itoa(e))
	return x.Mul(x, power), true
}

// exact returns the float64 nearest to text less offset.
func exact(t testing.TB, text string, offset float64) float64 {
	t.Helper()
	r, ok := rational(text)
	if !ok {
		t.Fatalf("%q is not a number", text)
	}
	f, _ := r.Sub(r, new(big.Rat).SetFloat64(offset)).Float64()
	return f
}

func TestCentre(t *testing.T) {
	for _, c := range []struct {
		name  string
		texts []string
		zero  bool // the offset is 0
	}{
		{"nothing", nil, true},
		{"missing only", []string{"", ""}, true},
		{"around zero", []string{"-1", "2"}, true},
		{"from zero", []string{"0", "2", "1"}, true},
		{"far apart", []string{"1", "3", "2.5"}, true},
		{"one row", []string{"12.3"}, false},
		{"alike", []string{"0.1", "0.1", "", "0.1"}, false},
		{"leading digits", []string{"1000000000000.4", "1000000000000.3", "", "1000000000000.6"}, false},
		{"negative", []string{"-1000000000000.4", "-1000000000000.3"}, false},
		{"alike as floats", []string{"1000000000000000.0001", "1000000000000000.0003", "1000000000000000.0002"}, false},
		{"weights of silver", []string{"107.8681568", "107.8681465", "107.8681572"}, false},
		{"small", []string{"1.00012e-12", "1.00017e-12", "1.00013e-12"}, false},
		{"tiny", []string{"5e-324", "5e-324"}, false},
		{"large", []string{"1.0001e300", "1.0003e300"}, false},
		{"eighteen digits", []string{"999999999999999999", "999999999999999998", "999999999999999990"}, false},
		{"long", []string{"1234567890123456789.5", "1234567890123456789.25", "1234567890123456000"}, false},
		{"one long", []string{"12.5", "12.50000000000000000000000001", "12.25"}, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			offset, dev := column(t, c.texts...).Centre()
			if (offset == 0) != c.zero {
				t.Errorf("offset %v", offset)
			}
			checkCentre(t, c.texts, offset, dev)
		})
	}
}

// checkCentre fails unless each deviation is the correctly rounded difference.
func checkCentre(t testing.TB, texts []string, offset float64, dev []float64) {
	t.Helper()
	if len(dev) != len(texts) {
		t.Fatalf("%d deviations of %d rows", len(dev), len(texts))
	}
	for i, s := range texts {
		if s == "" {
			if !math.IsNaN(dev[i]) {
				t.Errorf("row %d is missing, deviation %v", i, dev[i])
			}
		} else if want := exact(t, s, offset); dev[i] != want {
			t.Errorf("%s - %v = %v, want %v", s, offset, dev[i], want)
		}
	}
}

func TestCentreIgnoresOrder(t *testing.T) {
	a, _ := column(t, "5.25", "5.5", "", "5.75", "6").Centre()
	b, _ := column(t, "6", "5.75", "5.25", "5.5").Centre()
	if a != b {
		t.Errorf("offset %v, in another order %v", a, b)
	}
}

func FuzzAppend(f *testing.F) {
	for _, s := range []string{"12.5", "-3e4", "+.5", "5.", "0", "1e22", "9007199254740993", "1.7976931348623159e308",
		"2.4703282292062327e-324", "1,5", "0x1p3", "1_0", "NaN", "1234567890123456789012345", "0.00010e-2"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		var c Column
		err := c.Append([]byte(s))
		if len(s) > MaxText {
			if err == nil {
				t.Fatal("a long text was taken")
			}
			return
		}
		want, ok := rational(s)
		if !ok {
			if !errors.Is(err, ErrSyntax) {
				t.Fatalf("%q: %v, want ErrSyntax", s, err)
			}
			return
		}
		w, _ := want.Float64()
		if math.IsInf(w, 0) || w == 0 && want.Sign() != 0 {
			if !errors.Is(err, ErrRange) {
				t.Fatalf("%q: %v, want ErrRange", s, err)
			}
			return
		}
		if err != nil {
			t.Fatalf("%q: %v", s, err)
		}
		if got := c.Floats()[0]; got != w {
			t.Fatalf("%q = %v, want %v", s, got, w)
		}
	})
}

func FuzzCentre(f *testing.F) {
	f.Add("1000000000000.4", "1000000000000.3", "1000000000000.5")
	f.Add("107.8681568", "107.8681465", "")
	f.Add("1.00012e-12", "1.00017e-12", "1.0001199999999999999999e-12")
	f.Add("-99999999999999999", "-99999999999999998", "-9.99999999999999975e16")
	f.Add("1e300", "1.1e300", "1.2e300")
	f.Add("3e-320", "4e-320", "3.5e-320")
	f.Add("1", "-1", "1e-300")
	f.Fuzz(func(t *testing.T, a, b, d string) {
		var c Column
		texts := []string{a, b, d}
		for i, s := range texts {
			if len(s) > 100 || c.Append([]byte(s)) != nil {
				c.AppendMissing()
				texts[i] = ""
			}
		}
		offset, dev := c.Centre()
		checkCentre(t, texts, offset, dev)
		lo, hi := c.extent()
		if width := hi - lo; offset != 0 && (offset < lo || offset > hi) && math.Abs(offset-lo) > width {
			t.Errorf("offset %v outside %v to %v", offset, lo, hi)
		}
	})
}

func TestOnlyLeavesOutTheOtherRows(t *testing.T) {
	var c Column
	for _, text := range []string{"1.5", "0", "123456789012345678901234567890", "-2"} {
		if err := c.Append([]byte(text)); err != nil {
			t.Fatal(err)
		}
	}
	kept := c.Only(func(row int) bool { return row == 0 || row == 2 })
	got := kept.Floats()
	if got[0] != 1.5 || !math.IsNaN(got[1]) || got[2] != 123456789012345678901234567890 || !math.IsNaN(got[3]) {
		t.Errorf("Only(0, 2) = %v, want 1.5, NaN, 1.23e29, NaN", got)
	}
	if _, _, err := kept.LogCentre(); err != nil {
		t.Errorf("LogCentre of the positive rows: %v", err)
	}
	kept.AppendMissing()
	if all := c.Floats(); all[1] != 0 || all[3] != -2 || c.Len() != 4 {
		t.Errorf("the column itself became %v", all)
	}
}
