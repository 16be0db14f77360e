package check_test

import (
	"errors"
	"fmt"

	"fairrun/stats/check"
)

// Bollard pull in newtons at three field-weakening currents.
var pull = [][]float64{
	{41.2, 40.1, 40.3, 39.9, 39.5, 39.0},
	{43.9, 43.2, 43.0, 42.1, 41.9, 41.7},
	{46.1, 45.8, 44.9, 47.9, 44.2, 43.7},
}

func ExampleWelch() {
	r, err := check.Welch(pull)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("F(%.0f, %.1f) = %.1f, p = %.1g\n", r.DF1, r.DF2, r.Statistic, r.P)
	// Output: F(2, 9.5) = 34.7, p = 4e-05
}

func ExampleBrownForsythe() {
	r, err := check.BrownForsythe(pull)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("F(%.0f, %.0f) = %.2f, p = %.2f\n", r.DF1, r.DF2, r.Statistic, r.P)
	// Output: F(2, 15) = 1.88, p = 0.19
}

func ExampleBartlett_error() {
	_, err := check.Bartlett([][]float64{{41.2, 40.1}, {43.9}})
	var group *check.GroupError
	if errors.As(err, &group) {
		fmt.Println(group.Group, group.Err)
	}
	// Output: 1 a group has one run only
}

func ExampleGamesHowell() {
	pairs, err := check.GamesHowell(pull, 0.05)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, p := range pairs {
		fmt.Printf("%d against %d: %.2f N, %.2f to %.2f\n", p.Level, p.Against, p.Difference, p.Low, p.High)
	}
	// Output:
	// 1 against 0: 2.63 N, 1.35 to 3.92
	// 2 against 0: 5.43 N, 3.42 to 7.44
	// 2 against 1: 2.80 N, 0.76 to 4.84
}

func ExampleRunsTest() {
	warmingUp := []float64{44.1, 44.3, 43.9, 43.8, 43.9, 43.1, 43.0, 42.6, 42.7, 42.2}
	s, err := check.RunsTest(warmingUp)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%d stretches, %.0f expected, p = %.3f\n", s.Count, s.Expected, s.P)
	// Output: 2 stretches, 6 expected, p = 0.016
}

func ExampleFisher() {
	failedToStart := []int{0, 1, 6}
	runs := []int{8, 8, 8}
	a, err := check.Fisher(failedToStart, runs)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("p = %.4f\n", a.P)
	// Output: p = 0.0040
}

func ExampleClopperPearson() {
	i := check.ClopperPearson(1, 12, 0.05)
	fmt.Printf("1 of 12: between %.1f %% and %.1f %%\n", 100*i.Low, 100*i.High)
	// Output: 1 of 12: between 0.2 % and 38.5 %
}

func ExampleHolm() {
	fmt.Println(check.Holm([]float64{0.01, 0.04, 0.03}))
	// Output: [0.03 0.06 0.06]
}
