# Makes r-rank-permutation.json: Rscript r-rank-permutation.R > r-rank-permutation.json
# R 4.2.2, base only: every order of the plots within their blocks is written out (expand.grid over the distinct orders of each
# block), so the p-values are by brute force. Statistics of complete cases are friedman.test's and kruskal.test's own.
suppressMessages(library(jsonlite)); RNGkind("Mersenne-Twister","Inversion","Rejection"); set.seed(1937)
perms <- function(v) { if (length(v)<=1) return(matrix(v,1)); u<-unique(v); do.call(rbind,lapply(u,function(x){i<-match(x,v); cbind(x,perms(v[-i]))})) }
ginv <- function(m) { s<-svd(m); k<-s$d>1e-9*max(s$d); s$v[,k,drop=FALSE]%*%diag(1/s$d[k],sum(k))%*%t(s$u[,k,drop=FALSE]) }
stat <- function(lab,val,k) { # lists by block
  T<-numeric(k); V<-matrix(0,k,k)
  for (b in seq_along(lab)) { n<-length(val[[b]]); if (length(unique(lab[[b]]))<2||length(unique(val[[b]]))<2) next
    c<-sqrt(12/(n+1))*(rank(val[[b]])-(n+1)/2); for (i in 1:n) T[lab[[b]][i]]<-T[lab[[b]][i]]+c[i]
    m<-tabulate(lab[[b]],k); V<-V+sum(c^2)/(n-1)*(diag(m,k)-outer(m,m)/n) }
  G<-ginv(V); list(T=T,G=G,q=drop(t(T)%*%G%*%T)) }
case <- function(lab,val,k,ref=NULL) {
  o<-stat(lab,val,k); P<-lapply(lab,perms)
  S<-lapply(seq_along(lab),function(b){ n<-length(val[[b]]); c<-if(length(unique(lab[[b]]))<2||length(unique(val[[b]]))<2) rep(0,n) else sqrt(12/(n+1))*(rank(val[[b]])-(n+1)/2)
    t(apply(P[[b]],1,function(l) sapply(1:k,function(j) sum(c[l==j]))))})
  tot<-S[[1]]; for (b in seq_along(S)[-1]) { i<-rep(1:nrow(tot),each=nrow(S[[b]])); tot<-tot[i,,drop=FALSE]+S[[b]][rep(1:nrow(S[[b]]),length.out=length(i)),,drop=FALSE] }
  q<-rowSums((tot%*%o$G)*tot)
  list(treatments=k,labels=lab,values=val,statistic=o$q,p=mean(q>=o$q-1e-9*max(1,o$q)),smallestP=mean(q>=max(q)-1e-9*max(1,max(q))),reference=ref) }
out<-list()
fr<-function(m){ b<-nrow(m);k<-ncol(m); case(lapply(1:b,function(i)1:k),lapply(1:b,function(i)m[i,]),k,unname(friedman.test(m)$statistic)) }
out$pairs4<-fr(cbind(c(1,2,3,4),c(2,3,4,5)))            # four pairs, all the same way: exact p 0.125
for (i in 1:6) { k<-sample(2:4,1); b<-if(k==4) sample(2:4,1) else sample(3:5,1); m<-matrix(sample(1:9,k*b,TRUE),b); if (sd(m)==0) next; out[[paste0("friedman",i)]]<-fr(m) }
for (i in 1:5) { k<-sample(2:3,1); g<-rep(1:k,length.out=sample(6:8,1)); v<-if(i%%2) rnorm(length(g)) else sample(1:4,length(g),TRUE)
  out[[paste0("kruskal",i)]]<-case(list(g),list(round(v,4)),k,unname(kruskal.test(v,g)$statistic)) }
for (i in 1:5) { k<-3;b<-4; lab<-lapply(1:b,function(j) sort(sample(1:k,sample(2:3,1)))); out[[paste0("missing",i)]]<-case(lab,lapply(lab,function(l) round(rnorm(length(l)),3)),k) }
out$twice<-case(list(c(1,1,2,3),c(1,2,2,3),c(1,2,3)),list(c(3,4,1,6),c(5,2,1,8),c(2,4,9)),3)
q<-matrix(c(1,1,0, 1,0,0, 1,1,0, 0,0,0, 1,1,1, 1,0,0),6,byrow=TRUE); out$cochran<-fr(q) # Cochran's Q: here 7.0 by (k-1)(k sum G^2 - N^2)/(kN - sum L^2)
L<-rowSums(q);Gs<-colSums(q); out$cochran$byFormula<-2*(3*sum(Gs^2)-sum(Gs)^2)/(3*sum(L)-sum(L^2))
fe<-matrix(c(1,5,4,0),2); v<-c(rep(1,1),rep(0,5),rep(1,4),rep(0,0)); g<-c(rep(1,6),rep(2,4)); out$fisher<-case(list(g),list(v),2); out$fisher$fisherP<-fisher.test(table(g,v))$p.value
cat(toJSON(list(source="R 4.2.2, base R by brute force, friedman.test, kruskal.test, fisher.test; tests/reference/r-rank-permutation.R",cases=out),digits=12,auto_unbox=TRUE))
