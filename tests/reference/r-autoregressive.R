# Makes r-autoregressive.json: Rscript r-autoregressive.R > r-autoregressive.json
# R 4.2.2, nlme 3.1.162, emmeans 1.8.4.1, numDeriv 2016.8 (Debian 12 packages). The fit is that of gls with corCAR1, refined: gls's own
# search stops near 1e-6. Kenward-Roger to first order by matrices and numDeriv here, as pbkrtest has none for such models.
suppressMessages({library(nlme);library(emmeans);library(jsonlite);library(numDeriv)})
RNGkind("Mersenne-Twister","Inversion","Rejection"); set.seed(1991)
out <- list()
ok <- function(e) tryCatch(e,error=function(err) message(conditionMessage(err)))
drop1 <- function(d,n) if (n>0) d[-sample(nrow(d),n),] else d
facs <- function(d,v) { for (x in v) d[[x]]<-factor(d[[x]],levels=unique(as.character(d[[x]]))); d }
kr1 <- function(X,subject,day,s2,rho,L) { # first-order Kenward-Roger, all by matrices; derivatives of V by numDeriv
  Vf<-function(th) { same<-outer(subject,subject,"=="); th[1]*same*th[2]^abs(outer(day,day,"-")) }
  th<-c(s2,rho); V<-Vf(th); Vi<-solve(V); J<-jacobian(function(t) as.vector(Vf(t)),th); n<-length(day); G<-lapply(1:2,function(i) matrix(J[,i],n,n))
  Phi<-solve(t(X)%*%Vi%*%X); P<-lapply(G,function(g) -t(X)%*%Vi%*%g%*%Vi%*%X); Q<-function(i,j) t(X)%*%Vi%*%G[[i]]%*%Vi%*%G[[j]]%*%Vi%*%X
  tr<-function(m) sum(diag(m)); I2<-matrix(0,2,2); for(i in 1:2)for(j in 1:2) I2[i,j]<-tr(Vi%*%G[[i]]%*%Vi%*%G[[j]])-2*tr(Phi%*%Q(i,j))+tr(Phi%*%P[[i]]%*%Phi%*%P[[j]])
  W<-2*solve(I2); U<-0; for(i in 1:2)for(j in 1:2) U<-U+W[i,j]*(Q(i,j)-P[[i]]%*%Phi%*%P[[j]]); PA<-Phi+2*Phi%*%U%*%Phi
  single<-apply(L,1,function(l){ v<-drop(t(l)%*%Phi%*%l); g<-sapply(P,function(p) -drop(t(l)%*%Phi%*%p%*%Phi%*%l)); c(sqrt(drop(t(l)%*%PA%*%l)),2*v^2/drop(t(g)%*%W%*%g)) })
  list(se=single[1,],df=single[2,],PA=PA,Phi=Phi,P=P,W=W) }
for (i in 1:26) ok({ if (i==1) { d<-data.frame(block="one",subject=as.character(Orthodont$Subject),trt=as.character(Orthodont$Sex),day=Orthodont$age,y=Orthodont$distance); days<-c(8,10,12,14) } else {
  k<-sample(2:4,1);b<-sample(3:4,1);days<-if (i%%2) 1:4 else c(1,3,7,14); d<-expand.grid(day=days,trt=paste0("t",1:k),block=paste0("b",1:b)); d$subject<-paste(d$block,d$trt); r<-sample(c(.5,.8,.95),1); d<-d[order(d$subject,d$day),]
  C<-r^abs(outer(days,days,"-")); e<-as.vector(t(chol(C))%*%matrix(rnorm(k*b*length(days)),length(days)))
  d$y<-round(rnorm(k)[as.integer(d$trt)]+rnorm(b)[as.integer(d$block)]+e,3); d<-drop1(d,sample(0:3,1)) }
  d<-facs(d,c("block","trt","subject")); d$dayf<-factor(d$day,levels=days); if (any(table(d$trt,d$dayf)==0)) next
  f<-if (i==1) y~trt*dayf else y~block+trt*dayf
  # the likelihood in the correlation is searched by optimize to 1e-12: gls's own search stops near 1e-6
  X<-model.matrix(f,d); n<-nrow(X);p<-ncol(X)
  dev<-function(rho,full=FALSE){ V<-outer(as.character(d$subject),as.character(d$subject),"==")*rho^abs(outer(d$day,d$day,"-")); Vi<-solve(V); A<-t(X)%*%Vi%*%X; be<-solve(A,t(X)%*%Vi%*%d$y); e<-d$y-X%*%be; s2<-drop(t(e)%*%Vi%*%e)/(n-p)
    if (full) return(list(s2=s2,be=drop(be))); as.numeric((n-p)*log(s2)+determinant(V)$modulus+determinant(A)$modulus) }
  o<-optimize(dev,c(1e-4,1-1e-6),tol=1e-9); rho<-o$minimum; for (z in 1:3) { g<-grad(dev,rho); h<-hessian(dev,rho)[1]; st<-rho-g/h; if (st>0&&st<1) rho<-st }
  g<-gls(f,d,correlation=corCAR1(min(.9,max(.1,rho)),form=~day|subject),method="REML",control=glsControl(tolerance=1e-12,msTol=1e-12,maxIter=500,msMaxIter=500))
  gr<-unname(coef(g$modelStruct$corStruct,unconstrained=FALSE)); at<-dev(rho,TRUE); stopifnot(rho>.0002,rho<.9999,abs(gr-rho)<2e-3)
  e<-emmeans(g,c("trt","dayf"),mode="asymptotic"); L<-e@linfct; k2<-kr1(X,as.character(d$subject),d$day,at$s2,rho,L); pr<-pairs(e); Ld<-pr@linfct; kd<-kr1(X,as.character(d$subject),d$day,at$s2,rho,Ld)
  s<-as.data.frame(e@grid); out[[length(out)+1]]<-list(kind="autoregressive",name=if(i==1)"Orthodont, corCAR1" else NULL,data=list(block=as.character(d$block),trt=as.character(d$trt),subject=as.character(d$subject),day=d$day,y=d$y),gls=list(rho=gr,sigma2=g$sigma^2),variances=list(variance=at$s2,rho=rho),
    means=list(list(of=c("trt","dayf"),levels=paste(s$trt,s$dayf,sep="|"),mean=drop(L%*%at$be),se=k2$se,df=k2$df,difference=head(drop(Ld%*%at$be),15),dse=head(kd$se,15),ddf=head(kd$df,15),dp=head(2*pt(-abs(drop(Ld%*%at$be))/kd$se,kd$df),15))),tests=list()) })
message(length(out)," cases")
cat(toJSON(list(source="R 4.2.2, nlme 3.1.162, emmeans 1.8.4.1, numDeriv 2016.8; tests/reference/r-autoregressive.R",cases=out),digits=I(11),auto_unbox=TRUE))
