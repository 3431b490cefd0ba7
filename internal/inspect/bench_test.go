package inspect_test

import "sizerun/internal/testkit/blouse"

var (
	benchRun   = blouse.Run()
	benchChart = blouse.Chart()
)
