package lot

import (
	"fmt"
	"math"
	"math/big"
	"strconv"
)

// Count is a number of orders, exactly when it is known and fits, otherwise by its logarithm.
type Count struct {
	Exact uint64  `json:"exact,omitempty"` // 0: not known exactly, or not of orders that are gone through one by one
	Known uint64  `json:"known,omitempty"` // where Exact is 0: the number all the same, if it is below a million; 0: not known
	Log10 float64 `json:"log10"`
}

// String returns the number, or "about 10^k".
func (c Count) String() string {
	if c.Exact > 0 {
		return strconv.FormatUint(c.Exact, 10)
	}
	if c.Known > 0 {
		return strconv.FormatUint(c.Known, 10)
	}
	return fmt.Sprintf("about 10^%.1f", c.Log10)
}

// NotListed returns c for orders that are not gone through one by one.
func (c Count) NotListed() Count {
	if c.Exact < mostKnown {
		c.Known = c.Exact
	}
	c.Exact = 0
	return c
}

// mostKnown is what numbers of orders that are not gone through are given exactly below.
const mostKnown = 1_000_000

// maxExact bounds exact counts to those that every reader of JSON keeps exactly.
const maxExact = 1 << 53

// CountOf returns n as a Count.
func CountOf(n *big.Int) Count {
	var c Count
	if n.BitLen() <= 53 {
		c.Exact = n.Uint64()
	}
	// n = f·2ᵏ with f on [1/2, 1).
	k := n.BitLen()
	f, _ := new(big.Float).SetMantExp(new(big.Float).SetInt(n), -k).Float64()
	c.Log10 = RoundLog(math.Log10(f) + float64(k)*math.Log10(2))
	return c
}

// Times returns c·d.
func (c Count) Times(d Count) Count {
	p := Count{Log10: RoundLog(c.Log10 + d.Log10)}
	if c.Exact > 0 && d.Exact > 0 && c.Exact <= maxExact/d.Exact {
		p.Exact = c.Exact * d.Exact
	}
	return p
}

// Power returns cᵏ.
func (c Count) Power(k int) Count {
	p := Count{Exact: 1}
	for range k {
		p = p.Times(c)
	}
	p.Log10 = RoundLog(float64(k) * c.Log10)
	return p
}

// RoundLog rounds a logarithm to four decimals, since its last digits may differ between platforms.
func RoundLog(log10 float64) float64 { return math.Round(log10*1e4) / 1e4 }
