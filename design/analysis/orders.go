package analysis

import (
	"fairrun/design/lot"
	"fairrun/stats/verdict"
)

// Orders counts the orders that a draw could have given.
type Orders struct {
	Number *uint64        `json:"orders"`        // null: not known exactly
	Log10  verdict.Number `json:"orders_log10"`  // null: not known of an extended campaign
	Listed bool           `json:"orders_listed"` // the randomisation test can go through them one by one
}

func countOrders(n lot.Count) Orders {
	if n == (lot.Count{}) {
		return Orders{Log10: verdict.Unknown}
	}
	out := Orders{Log10: verdict.Number(n.Log10), Listed: n.Exact > 0}
	if number := max(n.Exact, n.Known); number > 0 {
		out.Number = &number
	}
	return out
}
