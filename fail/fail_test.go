package fail

import (
	"fmt"
	"testing"
)

func TestError_CodeAndPlace(t *testing.T) {
	e := Of(BadUnit, "value", "units.no_unit", Args{"text": "12", "list": []string{"psig"}})
	err := fmt.Errorf("sheet: %w", e.At("readings[0]"))
	if CodeOf(err) != BadUnit || err.Error() != "sheet: readings[0].value: units.no_unit (list=[psig], text=12)" {
		t.Errorf("%v %v", err, CodeOf(err))
	}
	if CodeOf(fmt.Errorf("x")) != Internal || Internal.HTTPStatus() != 500 || Usage.Exit() != 2 || NotFound.HTTPStatus() != 404 ||
		Code("x").Exit() != 1 {
		t.Error("the table is wrong")
	}
}
