package order

import (
	"fairrun/design/blocks"
	"fairrun/design/lot"
)

// rowsAndColumns are blocks and positions that hold the treatments as evenly as can be: Latin squares,
// Youden squares and their like. Blocks made of Latin squares alone are drawn afresh; of others names,
// blocks and positions are exchanged.
type rowsAndColumns struct{ blockDesign }

func (k rowsAndColumns) checkKind() error   { return k.withoutEffects() }
func (k rowsAndColumns) stretch(*stage) int { return 1 }

func (k rowsAndColumns) design(given [][]int) ([][]int, error) {
	return blocks.RowsAndColumns(k.blocks(), given)
}

func (k rowsAndColumns) efficiency(_ *stage, _ []int32, order [][]int) (float64, error) {
	return k.efficiencyOverPositions(order)
}

// squares returns how many Latin squares make up all of a stage's blocks, 0 if they do not.
func (k rowsAndColumns) squares(s *stage) int {
	added := k.Blocks - s.from
	if k.Runs > 0 || added%k.Treatments != 0 {
		return 0
	}
	return added / k.Treatments * k.Replicates
}

func (k rowsAndColumns) orders(s *stage, _ int) lot.Count {
	if squares := k.squares(s); squares > 0 {
		return blocks.LatinSquares(k.Treatments).Power(squares)
	}
	return s.exchanges()
}

func (k rowsAndColumns) within(s *stage) within {
	if squares := k.squares(s); squares > 0 {
		return freshSquares{blocks.NewLatin(k.Treatments), k.Treatments, k.runsPerBlock(), squares}
	}
	return nil
}

// freshSquares draws Latin squares, side by side and one set of as many blocks as treatments after the other.
type freshSquares struct {
	latin         *blocks.Latin
	treatments    int
	runs, squares int
}

func (f freshSquares) shuffle(src *lot.Stream, _ int, part []int32) {
	t, n := f.treatments, f.runs
	for ; len(part) > 0; part = part[t*n:] {
		for from := 0; from < n; from += t {
			f.latin.Draw(src)
			for r := range t {
				for c := range t {
					part[r*n+from+c] = int32(f.latin.Square[r*t+c])
				}
			}
		}
	}
}

// exchanges are none for one square of up to three treatments, to which exchanges of names, blocks and
// positions lead. The walk that draws other squares may favour some.
func (f freshSquares) exchanges([]int32) (all []exchange, known bool) {
	return nil, f.squares == 1 && f.treatments <= 3
}
