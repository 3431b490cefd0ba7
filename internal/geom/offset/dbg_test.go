package offset
import ("testing";"fmt")
func TestDbg(t *testing.T){
 cs:=curves(300)
 for _,i:=range []int{16,43,265}{
 p:=cs[i]
 fmt.Println(i,"minR",p.MinRadius(),"len",p.Length())
 for k:=0;k<=10;k++ { fmt.Printf("%.4f ",p[0].Curvature(float64(k)/10)) }
 fmt.Println()
 ps,_:=offsetSeg(p[0],32,.005)
 for _,x:=range ps{ fmt.Printf(" raw %.3f %.3f back=%v len %.3f\n",x.t0,x.t1,x.back,x.seg.Length())}
 q,_:=Curve(p,32,.005)
 src:=dense(p,1200)
 for _,s:=range q { fmt.Printf("  seg len %.3f:",s.Length()); for k:=0;k<=4;k++{fmt.Printf(" %.3f",gap(s.At(float64(k)/4),src))}; fmt.Println()}
 }
}
