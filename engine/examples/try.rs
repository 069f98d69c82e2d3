use engine::*; use std::sync::Arc;
fn main(){
 let text = std::fs::read_to_string(std::env::args().nth(1).unwrap()).unwrap();
 let mut facts = Facts::on(measure::Day::parse("2026-11-25").unwrap());
 let mut sheets = std::collections::BTreeMap::new();
 for a in std::env::args().skip(2) { let (p,f)=a.split_once('=').unwrap(); sheets.insert(p.to_string(), std::fs::read_to_string(f).unwrap()); }
 facts.sheets = Arc::new(sheets);
 let doc = document::Document::read(&text);
 let c = Arc::new(script::Compiled::default());
 let e = evaluate(&doc,&facts,&c,None);
 for (i,b) in e.blocks.iter().enumerate(){ for n in &b.gives { println!("{i} {} = {}   [{}]", n.name, n.found.value.shown(e.units), e.working(&n.name,&n.found,None).unwrap_or_default()); } println!("  reads {:?} imports {:?}", b.reads,b.imports); }
 for (a,k) in e.answers.iter().zip(&doc.asks){ match &a.result { Ok(f)=>println!("? {} -> {}  [{}]", k.expression, f.value.shown(e.units), e.working(&k.expression,f,a.trace.as_ref()).unwrap_or_default()), Err(p)=>println!("? {} !! {p}", k.expression)} }
 println!("{:#?}", e.record);
 for p in &e.problems { println!("{p}"); }
}
