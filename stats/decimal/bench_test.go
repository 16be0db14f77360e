package decimal

import (
	"fmt"
	"math/rand/v2"
	"testing"
)

// texts returns numbers such as 1000000000000.4.
func texts(n int, format string) [][]byte {
	rng := rand.New(rand.NewPCG(1, 2))
	out := make([][]byte, n)
	for i := range out {
		out[i] = fmt.Appendf(nil, format, rng.IntN(100_000))
	}
	return out
}

func read(b *testing.B, texts [][]byte) *Column {
	var c Column
	for _, s := range texts {
		if err := c.Append(s); err != nil {
			b.Fatal(err)
		}
	}
	return &c
}

func BenchmarkAppend1M(b *testing.B) {
	texts := texts(1_000_000, "1000000000000.%05d")
	b.ReportAllocs()
	for b.Loop() {
		read(b, texts)
	}
}

func benchmarkCentre(b *testing.B, format string) {
	c := read(b, texts(1_000_000, format))
	b.ReportAllocs()
	for b.Loop() {
		c.Centre()
	}
}

func BenchmarkCentre1M(b *testing.B) { benchmarkCentre(b, "1000000000000.%05d") }

// BenchmarkCentreFine1M needs an offset of more decimals than 64 bits hold.
func BenchmarkCentreFine1M(b *testing.B) { benchmarkCentre(b, "0.0000123%05d") }

// BenchmarkCentreLong1M has more digits than a mantissa of 64 bits.
func BenchmarkCentreLong1M(b *testing.B) { benchmarkCentre(b, "1000000000000.1234567%05d") }

func BenchmarkLogCentre1M(b *testing.B) {
	c := read(b, texts(1_000_000, "1000000000000.%05d"))
	b.ReportAllocs()
	for b.Loop() {
		if _, _, err := c.LogCentre(); err != nil {
			b.Fatal(err)
		}
	}
}
