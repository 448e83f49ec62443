use crate::shop::Shop;

#[test]
fn look() {
    let told = Shop::job("slipping")
        .types(std::fs::read("/tmp/shop-typed").unwrap())
        .may_complain()
        .run();
    println!("{}\n=====\n{}\n{}", told.out, told.err, told.text());
}
