package dist
import ("testing";"gonum.org/v1/gonum/mat";"fmt";"time")
func TestCtl(t *testing.T){
 for _,e:=range []float64{0.13,0.17,0.19}{
 n:=7
 c:=product(0.7,0.72,0.65,0.7,0.5,0.5,0.6)
 k:=0
 for i:=0;i<n;i++{for j:=0;j<i;j++{ k++; s:=1.0; if k%2==0 {s=-1}; c.SetSym(i,j,c.At(i,j)+s*e)}}
 var _ mat.Symmetric = c
 for _,ctl:=range []bool{true,false}{
 u:=newUnion(c,true)
 if !ctl {u.control=nil}
 for _,x:=range []float64{0.5,2.2,6}{
 u.adaptive(20,x)
 t0:=time.Now()
 p,b,pts:=u.adaptive(20,x)
 fmt.Println(e,ctl,x,p,b/p,pts,time.Since(t0))
 }}}
}
