package decimal

import (
	"encoding/json"
	"errors"
	"math"
	"os"
	"testing"
)

// The values are mpmath's, made by testdata/log.py.
func TestLogCentre(t *testing.T) {
	data, err := os.ReadFile("testdata/log.json")
	if err != nil {
		t.Fatal(err)
	}
	var columns []struct {
		Texts           []string
		Log, Difference []float64
	}
	if err := json.Unmarshal(data, &columns); err != nil {
		t.Fatal(err)
	}
	const ulp = 0x1p-52
	for _, c := range columns {
		centre, dev, err := column(t, c.Texts...).LogCentre()
		if err != nil {
			t.Errorf("%v: %v", c.Texts, err)
			continue
		}
		var size float64
		for _, d := range dev {
			size = max(size, math.Abs(d))
		}
		for i, want := range c.Log {
			if got := centre + dev[i]; math.Abs(got-want) > 2*ulp*max(math.Abs(centre), size) {
				t.Errorf("log %s = %v, want %v", c.Texts[i], got, want)
			}
			got, want := dev[i]-dev[0], c.Difference[i]
			if math.Abs(got-want) > 3*ulp*size {
				t.Errorf("log %s - log %s = %v, want %v", c.Texts[i], c.Texts[0], got, want)
			}
		}
	}
}

func TestLogCentreMissing(t *testing.T) {
	centre, dev, err := column(t, "", "100", "").LogCentre()
	if err != nil || centre+dev[1] != math.Log(100) || !math.IsNaN(dev[0]) || !math.IsNaN(dev[2]) {
		t.Errorf("LogCentre = %v, %v, %v", centre, dev, err)
	}
	if _, dev, err := column(t, "", "").LogCentre(); len(dev) != 2 || err != nil {
		t.Errorf("nothing: %v, %v", dev, err)
	}
}

func TestLogCentreNotPositive(t *testing.T) {
	for _, c := range []struct {
		texts []string
		want  NotPositiveError
	}{
		{[]string{"1", "", "0", "-2"}, NotPositiveError{2, 0}},
		{[]string{"-0.5", "3"}, NotPositiveError{0, -0.5}},
		{[]string{"1", "-1234567890123456789012"}, NotPositiveError{1, -1234567890123456789012}},
	} {
		_, _, err := column(t, c.texts...).LogCentre()
		var got *NotPositiveError
		if !errors.As(err, &got) || *got != c.want {
			t.Errorf("%v: error %v, want %+v", c.texts, err, c.want)
		}
	}
}
