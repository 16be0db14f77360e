package check

import "math"

// quadraticFormTails returns P(Q < 0) and P(Q > 0) for
//
//	Q = Σ λⱼ·χ²ⱼ,  χ²ⱼ independent with one degree of freedom each.
//
// With K(s) = −½ Σ log(1 − 2λⱼs), the logarithm of Q's moment generating
// function, and any c between 0 and 1/(2·max λ),
//
//	P(Q > 0) = (1/π) ∫ from 0 to ∞ of Re[exp(K(c+iu))/(c+iu)] du
//
// c is put at the saddle point K'(c) = 1/c, where the integrand hardly
// oscillates; u = w·sinh(t) makes it fall off exponentially, and the trapezoidal
// rule, refined until two rounds agree, converges as fast. Either tail keeps
// its relative accuracy, about 1e-12, however small it is.
//
// Source: Rice 1980, SIAM Journal on Scientific and Statistical Computing 1,
// 438–448, after Helstrom 1978.
func quadraticFormTails(lambda []float64) (below, above float64) {
	scale, lowest, highest := 0.0, 0.0, 0.0
	for _, l := range lambda {
		scale = max(scale, math.Abs(l))
		lowest, highest = min(lowest, l), max(highest, l)
	}
	switch {
	case lowest == 0 && highest == 0:
		return 0, 0 // Q is 0
	case lowest == 0:
		return 0, 1
	case highest == 0:
		return 1, 0
	}
	up, down := make([]float64, 0, len(lambda)), make([]float64, 0, len(lambda))
	for _, l := range lambda {
		if l != 0 {
			up = append(up, l/scale)
			down = append(down, -l/scale)
		}
	}
	return upperTail(down, -lowest/scale), upperTail(up, highest/scale)
}

// upperTail is P(Q > 0); highest is the largest of lambda and positive.
func upperTail(lambda []float64, highest float64) float64 {
	// The saddle point: K'(s) − 1/s rises from −∞ to ∞ over (0, 1/(2·highest)).
	low, high := 0.0, 1/(2*highest)
	for range 60 {
		s := (low + high) / 2
		slope := -1 / s
		for _, l := range lambda {
			slope += l / (1 - 2*l*s)
		}
		if slope > 0 {
			high = s
		} else {
			low = s
		}
	}
	c := low
	k, curvature := 0.0, 1/(c*c)
	ratio := make([]float64, len(lambda)) // 2λ/(1−2λc): the terms of K relative to c
	for j, l := range lambda {
		d := 1 - 2*l*c
		k -= math.Log(d) / 2
		ratio[j] = 2 * l / d
		curvature += ratio[j] * ratio[j] / 2
	}
	width := 1 / math.Sqrt(curvature)

	// term is the integrand at t and a bound on its size that only falls with t.
	term := func(t float64) (value, bound float64) {
		u := width * math.Sinh(t)
		size, angle := 1.0, 0.0
		logs := 0.0
		for _, r := range ratio {
			x := r * u
			angle += math.Atan(x)
			size *= 1 + x*x
			if size > 1e250 {
				logs += math.Log(size)
				size = 1
			}
		}
		logs += math.Log(size)
		m := math.Hypot(c, u)
		bound = math.Exp(-logs/4) / m * width * math.Cosh(t)
		return bound * math.Cos(angle/2-math.Atan2(u, c)), bound
	}
	sweep := func(from, step float64) float64 {
		sum := 0.0
		for t := from; ; t += step {
			value, bound := term(t)
			sum += value
			if t > 1 && bound <= 1e-17*math.Abs(sum) || t > 700 {
				return sum
			}
		}
	}
	step := 0.5
	first, _ := term(0)
	sum := first/2 + sweep(step, step)
	for range 10 {
		finer := sum + sweep(step/2, step)
		step /= 2
		done := math.Abs(finer/2-sum) <= 1e-13*math.Abs(finer/2)
		sum = finer
		if done {
			break
		}
	}
	return min(1, max(0, math.Exp(k)*sum*step/math.Pi))
}
