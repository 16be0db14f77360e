package linmod

// sum adds numbers of one sign with an error of a few units in the last place,
// however many there are (Neumaier 1974, ZAMM 54: 39-51, for the order it adds
// in). The zero value is an empty sum.
type sum struct{ high, low float64 }

// add adds x, which is not negative.
func (s *sum) add(x float64) {
	t := s.high + x
	if s.high >= x {
		s.low += (s.high - t) + x
	} else {
		s.low += (x - t) + s.high
	}
	s.high = t
}

// value returns the sum.
func (s *sum) value() float64 { return s.high + s.low }

// addSquares adds the squares of the entries of x.
func (s *sum) addSquares(x []float64) {
	for _, v := range x {
		s.add(v * v)
	}
}
