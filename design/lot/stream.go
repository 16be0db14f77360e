package lot

import (
	"encoding/binary"
	"math/bits"
	"math/rand/v2"
)

// Stream is a reproducible stream of random numbers: the 64-bit words of ChaCha8, and on
// top of them a bounded draw and a shuffle of this package's own, because the standard
// library promises to keep the words of ChaCha8 but not what it derives from them.
//
// A Stream belongs to one goroutine.
type Stream struct {
	words rand.ChaCha8
}

// New returns the given stream of a seed. The 32 bytes of the cipher's key are
//
//	bytes 0–7    seed, least significant byte first
//	bytes 8–15   stream, likewise
//	bytes 16–31  the ASCII text "fairrun order v1"
//
// so that every pair of seed and stream is a key of its own. Streams from 1<<32 on are
// free for callers; orders are drawn from the ones below.
func New(seed, stream uint64) *Stream {
	var key [32]byte
	binary.LittleEndian.PutUint64(key[0:], seed)
	binary.LittleEndian.PutUint64(key[8:], stream)
	copy(key[16:], "fairrun order v1")
	s := new(Stream)
	s.words.Seed(key)
	return s
}

// The streams of a seed from which orders are drawn.
const (
	StreamOrder     = 0 // the order that is drawn
	StreamPilot     = 1 // candidates that set the threshold
	StreamSearch    = 2 // search for a design: incomplete blocks, rows and columns
	StreamProbe     = 3 // a check that a recorded set is not empty
	StreamExtension = 4 // the order of an extension
)

// Uint64 returns the next word.
func (s *Stream) Uint64() uint64 { return s.words.Uint64() }

// Below returns a number uniform on 0, …, n−1: the upper half of the product of n and a
// word, words that would favour some numbers being drawn again (Lemire, D. 2019, ACM
// Transactions on Modeling and Computer Simulation 29(1), 3). It panics if n is zero.
func (s *Stream) Below(n uint64) uint64 {
	if n == 0 {
		panic(emptyRange)
	}
	hi, lo := bits.Mul64(s.Uint64(), n)
	if lo < n {
		for least := -n % n; lo < least; {
			hi, lo = bits.Mul64(s.Uint64(), n)
		}
	}
	return hi
}

const emptyRange = "order: Below needs a positive bound"

// Shuffle puts x into random order, every order of the positions equally likely: Fisher and
// Yates from the last position down, in which position i−1 is exchanged with one below i.
//
// The places below i, i−1, … are taken from a single word for as many positions as keep
// the product of their bounds at or under 2⁴⁸: each place is the upper half of the
// product of bound and word, the lower half being the word for the next; the whole batch is drawn
// again when the last lower half lies under 2⁶⁴ mod the product of the bounds
// (Brackett-Rozinsky, N. & Lemire, D. 2024, Software: Practice and Experience 54), which
// leaves every combination of places equally likely.
func Shuffle[E any](s *Stream, x []E) {
	var place [maxBatch]int
	for i := len(x); i > 1; {
		k, product := batch(i)
		s.places(place[:k], i, product)
		for _, j := range place[:k] {
			i--
			x[i], x[j] = x[j], x[i]
		}
	}
}

// maxBatch is the most places that one word can give: 16! < 2⁴⁸ < 17!, and the bound 1
// at the end is not drawn.
const maxBatch = 16

// batch returns how many places, with bounds i, i−1, …, come from one word, and the product of the bounds.
func batch(i int) (k int, product uint64) {
	if i < len(batches) {
		return batches[i].places, batches[i].product
	}
	return countBatch(i)
}

// batches holds the batches of short slices, which are shuffled most.
var batches = func() (table [256]struct {
	places  int
	product uint64
}) {
	for i := range table {
		table[i].places, table[i].product = countBatch(i)
	}
	return table
}()

func countBatch(i int) (k int, product uint64) {
	product = 1
	for bound := uint64(i); bound > 1; bound-- {
		hi, next := bits.Mul64(product, bound)
		if hi > 0 || next > 1<<48 {
			break
		}
		product = next
		k++
	}
	return k, product
}

// places draws dst[0] below i, dst[1] below i−1, and so on.
func (s *Stream) places(dst []int, i int, product uint64) {
	lo := s.placesOnce(dst, i)
	if lo < product {
		for least := -product % product; lo < least; {
			lo = s.placesOnce(dst, i)
		}
	}
}

func (s *Stream) placesOnce(dst []int, i int) uint64 {
	lo := s.Uint64()
	for j := range dst {
		var hi uint64
		hi, lo = bits.Mul64(lo, uint64(i-j))
		dst[j] = int(hi)
	}
	return lo
}
