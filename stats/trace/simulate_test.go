package trace

import (
	"math"
	"math/rand/v2"
)

// bench makes logs: a course f of time from the command's edge at 0, sampled.
type bench struct {
	f       func(t float64) float64
	rate    float64 // Hz
	before  float64 // s
	after   float64
	noise   float64
	rho     float64 // correlation of neighbouring rows' noise
	jitter  float64 // share of a row by which true instants differ from stamps
	held    float64 // Hz of the slower source; 0: none
	quantum float64
	missing float64 // share of rows
	zeros   float64 // share of rows that read 0
}

// log draws one log: the signal and the command.
func (b bench) log(r *rand.Rand) (signal, command *Trace) {
	row := 1 / b.rate
	phase := r.Float64() * row
	heldPhase := r.Float64()
	quantumPhase := r.Float64()
	n := int((b.before + b.after) * b.rate)
	var s, c Signal
	noise := r.NormFloat64()
	r.NormFloat64() // a draw that keeps the logs of docs/measures.md as they are
	last := math.Inf(-1)
	for i := range n {
		t := -b.before + phase + float64(i)*row
		at := t
		if b.jitter > 0 {
			at += r.NormFloat64() * b.jitter * row
		}
		fresh := true
		if b.held > 0 {
			k := math.Floor((at+b.before)*b.held + heldPhase)
			fresh = k != last
			last = k
			at = (k-heldPhase)/b.held - b.before
		}
		if fresh {
			noise = b.rho*noise + math.Sqrt(1-b.rho*b.rho)*r.NormFloat64()
		}
		v := b.f(at) + b.noise*noise
		if b.quantum > 0 {
			v = (math.Round(v/b.quantum+quantumPhase) - quantumPhase) * b.quantum
		}
		if b.zeros > 0 && r.Float64() < b.zeros {
			v = 0
		}
		if b.missing > 0 && r.Float64() < b.missing {
			continue
		}
		s.Time, s.Value = append(s.Time, t), append(s.Value, v)
		on := 0.0
		if t >= 0 {
			on = 1
		}
		c.Time, c.Value = append(c.Time, t), append(c.Value, on)
	}
	return Prepare(s), Prepare(c)
}

// outcome sums up what many simulated logs of one case gave.
type outcome struct {
	logs, refused         int
	bias, sd, u, coverage float64 // % of the truth
	reason                string
}

// simulate measures logs of a case.
func simulate(logs int, seed uint64, truth float64, measure func(r *rand.Rand) Value) outcome {
	o := outcome{logs: logs}
	var sum, squares, us, inside float64
	n := 0.0
	for k := range logs {
		v := measure(rand.New(rand.NewPCG(seed, uint64(k))))
		if v.Refused != "" {
			o.refused++
			o.reason = v.Refused
			continue
		}
		n++
		e := v.Value - truth
		sum += e
		squares += e * e
		us += v.Uncertainty
		if math.Abs(e) <= 1.959963984540054*v.Uncertainty {
			inside++
		}
	}
	scale := 100 / math.Abs(truth)
	o.bias = sum / n * scale
	o.sd = math.Sqrt(max(0, squares/n-sum/n*sum/n)) * scale
	o.u = us / n * scale
	o.coverage = 100 * inside / n
	return o
}

func mustMeasure(d Definition, r Run) Value {
	v, err := Measure(d, r)
	if err != nil {
		panic(err)
	}
	return v
}

const tau = 0.04 // s, the time constant of the simulated lags

func lag(t float64) float64 {
	if t <= 0 {
		return 0
	}
	return -math.Expm1(-t / tau)
}

// secondOrder is the step response of a natural frequency ω and damping ratio ζ < 1.
func secondOrder(omega, zeta float64) func(t float64) float64 {
	root := math.Sqrt(1 - zeta*zeta)
	return func(t float64) float64 {
		if t <= 0 {
			return 0
		}
		w := omega * root * t
		return 1 - math.Exp(-zeta*omega*t)*(math.Cos(w)+zeta/root*math.Sin(w))
	}
}

// solve returns where an increasing stretch of f passes a value.
func solve(f func(float64) float64, value, low, high float64) float64 {
	for range 200 {
		mid := (low + high) / 2
		if f(mid) < value {
			low = mid
		} else {
			high = mid
		}
	}
	return low
}

func newRand(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 0)) }
