package document

import (
	"strings"
	"testing"

	"sizerun/internal/pattern"
)

// small is the smallest block that uses every member of the grammar once.
const small = `{ "block": "small", "title": "A \"small\" block ½", "shop": "Rookery Lane Patterns", "unit": "cm", "drawn": "cut",
  "included": { "*": "5/8in", "front": 1, "front.hem": 0 },
  "sizes": { "base": "12", "run": ["10","12","14"], "breaks": ["14"], "body": { "bust": [84,88,"930mm"], "arm": [26,27,28] } },
  "pieces": {
    "front": { "title": "Front", "cut": { "count": 2, "pair": true, "cloth": "main" },
      "points": { "a": [0,0], "b": [20,0], "c": [20,30], "d": [0,30], "tip": [10,12], "e": [12,0] },
      "outline": [ {"edge":"hem","from":"a","to":"e"}, {"edge":"leg_one","from":"e","to":"tip"}, {"edge":"leg_two","from":"tip","to":"b"},
                   {"edge":"side","from":"b","to":"c","curve":[[21,10],[21,20]]}, {"edge":"top","from":"c","to":"d","through":[[10,29]]}, {"edge":"centre","from":"d","to":"a","fold":true} ],
      "marks": [ {"mark":"notch","name":"n1","count":2,"at":{"edge":"side","from":"b","along":"4in"}}, {"mark":"dot","name":"point","at":{"point":"tip"}},
                 {"mark":"square","name":"sq","inside":"5/8in","match":"g1","at":{"between":["n1","c"],"share":0.5}},
                 {"mark":"notch","name":"n2","at":{"edge":"hem","between":["a","e"],"share":0.25}}, {"mark":"dot","name":"free","at":[5,5]} ],
      "lines": [ {"line":"waist","via":[[0,20],[10,21],[20,20]]} ],
      "darts": [ {"dart":"front_dart","legs":["leg_one","leg_two"],"towards":"leg_one"} ],
      "grain": {"from":[5,3],"to":[5,25]}, "align": "a",
      "grade": { "a": {}, "d": {}, "b": {"x":{"bust":0.25}}, "c": {"x":{"bust":0.25},"y":{"arm":-0.125}}, "free": {"y":{"arm":0.1}} } },
    "back": { "points": { "a": [0,0], "b": [20,0], "c": [20,30], "d": [0,30] },
      "outline": [ {"edge":"hem","from":"a","to":"b"}, {"edge":"side","from":"b","to":"c","polyline":[[20.5,5],[21,10],[21.2,15],[21,20],[20.5,25]]}, {"edge":"top","from":"c","to":"d"}, {"edge":"centre","from":"d","to":"a"} ],
      "marks": [ {"mark":"notch","name":"n1","at":{"edge":"side","from":"b","along":10}} ],
      "grain": {"from":[5,3],"to":[5,25]}, "align": "a",
      "steps": { "a": {"each":[0,0]}, "d": {"each":[0,0]}, "b": {"each":["1cm",0],"after":{"12":[1.25,0]}}, "c": [[-1,0],[0,0],[1.25,0]] } },
    "yoke": { "points": { "a": [0,0], "b": [20,0], "c": [20,30], "d": [0,30] },
      "outline": [ {"edge":"hem","from":"a","to":"b"}, {"edge":"side","from":"b","to":"c"}, {"edge":"top","from":"c","to":"d","curve":[[15,32],[5,32]]}, {"edge":"centre","from":"d","to":"a"} ],
      "marks": [ {"mark":"dot","name":"in","at":[5,6]} ],
      "grain": {"from":[5,3],"to":[5,25]}, "align": "a",
      "digitised": { "10": { "points": {"a":[0,0],"b":[19,0],"c":[19,30],"d":[0,30]}, "curves": {"top":{"curve":[[14,32],[5,32]]}}, "marks": {"in":[5,6]}, "grain": {"from":[5,3],"to":[5,25]} },
                     "14": { "points": {"a":[0,0],"b":[21,0],"c":[21,30],"d":[0,30]}, "curves": {"top":{"through":[[10,31]]}} } } } },
  "seams": [ { "seam": "side_seam", "cap": true, "sew": [["front","side"]], "to": [{"piece":"back","edge":"side","against":true}], "ease": ["-6mm",1.5], "smooth": ["start","end"], "notches": [["n1","back.n1"]] },
             { "seam": "hem_seam", "sew": [["front","hem"],["front","leg_one"]], "to": [{"piece":"back","edge":"hem","against":false}] } ] }`

const smallStyle = `{ "style": "small-petal", "title": "Petal", "shop": "Rookery Lane Patterns", "unit": "in", "block": "small",
  "changes": [ { "change": "petal", "piece": "sleeve", "cap_share": 0.5, "hem_in": "2in", "length": 1.5, "both": false, "at": {"between": ["a", "b"], "share": 0.5}, "list": [1, 2.25] } ],
  "allowances": { "default": "5/8in", "limit": 3, "edges": { "sleeve_back.petal": { "width": 0.5, "turned": "twice", "start": "hem_return", "end": "square" }, "*.hem": "1 1/2in", "front.centre": 0 } },
  "labels": ["Print at 100 %", "Ärmel <b>&</b>"] }`

func decodeBlock(t testing.TB, doc string) pattern.Block {
	t.Helper()
	b, err := DecodeBlock([]byte(doc), DefaultLimits())
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// swap replaces the first old by new and fails the test when there is none.
func swap(t testing.TB, doc, old, new string) string {
	t.Helper()
	if !strings.Contains(doc, old) {
		t.Fatalf("the document has no %q", old)
	}
	return strings.Replace(doc, old, new, 1)
}
