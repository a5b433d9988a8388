use super::*;
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use ed25519_dalek::Signer;
use serde_json::{Value, json};

const VECTORS: &str = include_str!("../../../../tests/data/jwt/vectors.json");

/// 2026-11-02T06:00:00Z
const NOW: Timestamp = Timestamp(1_793_599_200_000_000);
const SECRET: [u8; 32] = [7; 32];

fn now_s() -> i64 {
    NOW.us() / US_PER_SECOND
}

fn tokens() -> Tokens {
    Tokens::new(&SigningKey::from_bytes(&SECRET), TokenSettings::default()).unwrap()
}

fn identity() -> Identity {
    Identity {
        principal: PrincipalId(Uuid::from_u128(1)),
        site: SiteId(Uuid::from_u128(2)),
        session: Some(Uuid::from_u128(3)),
        device: None,
    }
}

fn header() -> Value {
    json!({"alg": "EdDSA", "typ": "at+jwt", "kid": SigningKey::from_bytes(&SECRET).id()})
}

fn claims() -> Value {
    json!({
        "iss": "spindlebook", "aud": "spindlebook-api", "client_id": "spindlebook",
        "sub": Uuid::from_u128(1), "site": Uuid::from_u128(2), "sid": Uuid::from_u128(3),
        "jti": Uuid::from_u128(4), "iat": now_s(), "exp": now_s() + 900,
    })
}

fn with(mut value: Value, name: &str, member: Value) -> Value {
    value[name] = member;
    value
}

fn without(mut value: Value, name: &str) -> Value {
    value.as_object_mut().unwrap().remove(name);
    value
}

fn signing_input(header: &Value, claims: &Value) -> String {
    let part = |value: &Value| URL_SAFE_NO_PAD.encode(value.to_string());
    format!("{}.{}", part(header), part(claims))
}

/// Signed by hand, so that a token can say what the library would not let it say.
fn signed(secret: &[u8; 32], header: &Value, claims: &Value) -> String {
    let input = signing_input(header, claims);
    let signature = ed25519_dalek::SigningKey::from_bytes(secret).sign(input.as_bytes());
    format!("{input}.{}", URL_SAFE_NO_PAD.encode(signature.to_bytes()))
}

/// HMAC by RFC 2104, by hand: the crate has no other use for it.
fn hmac_sha256(key: &[u8], message: &[u8]) -> [u8; 32] {
    let mut block = [0; 64];
    block[..key.len().min(64)].copy_from_slice(&key[..key.len().min(64)]);
    let pad = |with: u8| block.map(|byte| byte ^ with);
    let inner = Sha256::new()
        .chain_update(pad(0x36))
        .chain_update(message)
        .finalize();
    Sha256::new()
        .chain_update(pad(0x5c))
        .chain_update(inner)
        .finalize()
        .into()
}

#[test]
fn what_was_issued_is_taken_until_it_expires() {
    let tokens = tokens();
    let token = tokens.issue(&identity(), "spindlebook", NOW).unwrap();
    assert_eq!(tokens.verify(&token, NOW), Ok(identity()));
    assert_eq!(tokens.verify(&token, NOW.plus_s(899)), Ok(identity()));
    // At most 60 s of leeway, from the cache as without it.
    assert_eq!(tokens.verify(&token, NOW.plus_s(959)), Ok(identity()));
    assert_eq!(tokens.verify(&token, NOW.plus_s(960)), Err(TokenRefused::Expired));
    assert_eq!(
        super::tests::tokens().verify(&token, NOW.plus_s(960)),
        Err(TokenRefused::Expired)
    );
}

// RFC 9068, section 2.1 and 2.2: the type, and the claims that must be there.
#[test]
fn a_token_has_the_header_and_claims_of_the_access_token_profile() {
    let token = tokens().issue(&identity(), "spindlebook", NOW).unwrap();
    let mut parts = token.split('.').map(|part| URL_SAFE_NO_PAD.decode(part).unwrap());
    let header: Value = serde_json::from_slice(&parts.next().unwrap()).unwrap();
    let claims: Value = serde_json::from_slice(&parts.next().unwrap()).unwrap();
    assert_eq!(
        (&header["typ"], &header["alg"]),
        (&json!("at+jwt"), &json!("EdDSA"))
    );
    for name in ["iss", "exp", "aud", "sub", "client_id", "iat", "jti"] {
        assert!(!claims[name].is_null(), "{name}");
    }
    assert!(claims.get("roles").is_none(), "roles are read at each request");
    assert_eq!(
        claims["exp"].as_i64().unwrap() - claims["iat"].as_i64().unwrap(),
        900
    );
}

#[test]
fn a_token_made_by_hand_like_ours_is_taken() {
    assert_eq!(
        tokens().verify(&signed(&SECRET, &header(), &claims()), NOW),
        Ok(identity())
    );
    let client = without(claims(), "sid");
    assert_eq!(
        tokens()
            .verify(&signed(&SECRET, &header(), &client), NOW)
            .unwrap()
            .session,
        None
    );
}

fn assert_not_ours(forged: &[(&str, String)]) {
    for (what, token) in forged {
        assert_eq!(tokens().verify(token, NOW), Err(TokenRefused::NotOurs), "{what}");
    }
}

fn in_header(name: &str, value: Value) -> String {
    signed(&SECRET, &with(header(), name, value), &claims())
}

fn in_claims(name: &str, value: Value) -> String {
    signed(&SECRET, &header(), &with(claims(), name, value))
}

fn lacking_claim(name: &str) -> String {
    signed(&SECRET, &header(), &without(claims(), name))
}

// RFC 8725 and ASVS 5.0, 9.1: the table of what must be refused, in three parts.
#[test]
fn tokens_whose_signature_is_not_ours_are_refused() {
    let good = signed(&SECRET, &header(), &claims());
    let (input, signature) = good.rsplit_once('.').unwrap();
    let tampered = signing_input(&header(), &with(claims(), "sub", json!(Uuid::from_u128(99))));
    let mut flipped = URL_SAFE_NO_PAD.decode(signature).unwrap();
    flipped[10] ^= 1;
    let others = SigningKey::from_bytes(&[9; 32]).public_bytes();
    let jwk = json!({"kty": "OKP", "crv": "Ed25519", "x": URL_SAFE_NO_PAD.encode(others)});
    let jku = json!("https://192.0.2.1/keys");
    assert_not_ours(&[
        ("nothing", String::new()),
        ("not a token", "abc.def.ghi".to_owned()),
        ("two parts", input.to_owned()),
        ("no signature", format!("{input}.")),
        ("four parts", format!("{good}.x")),
        (
            "a changed signature",
            format!("{input}.{}", URL_SAFE_NO_PAD.encode(flipped)),
        ),
        ("a changed claim", format!("{tampered}.{signature}")),
        ("another key", signed(&[9; 32], &header(), &claims())),
        (
            "another key brought along",
            signed(&[9; 32], &with(header(), "jwk", jwk), &claims()),
        ),
        (
            "another key to be fetched",
            signed(&[9; 32], &with(header(), "jku", jku), &claims()),
        ),
        ("far too long", format!("{good}{}", "A".repeat(4_096))),
    ]);
}

#[test]
fn tokens_of_another_algorithm_or_type_are_refused() {
    let public = SigningKey::from_bytes(&SECRET).public_bytes();
    let unsigned = |alg: &str| {
        format!(
            "{}.",
            signing_input(&with(header(), "alg", json!(alg)), &claims())
        )
    };
    let hs256 = |key: &[u8]| {
        let input = signing_input(&with(header(), "alg", json!("HS256")), &claims());
        format!(
            "{input}.{}",
            URL_SAFE_NO_PAD.encode(hmac_sha256(key, input.as_bytes()))
        )
    };
    let lacking = |name: &str| signed(&SECRET, &without(header(), name), &claims());
    assert_not_ours(&[
        ("alg none", unsigned("none")),
        ("alg NONE", unsigned("NONE")),
        ("HS256 with the public key", hs256(&public)),
        (
            "HS256 with the public key's text",
            hs256(URL_SAFE_NO_PAD.encode(public).as_bytes()),
        ),
        ("HS256 with an empty key", hs256(b"")),
        ("another algorithm's name", in_header("alg", json!("ES256"))),
        ("no type", lacking("typ")),
        ("another type", in_header("typ", json!("JWT"))),
        ("no key id", lacking("kid")),
        ("another key id", in_header("kid", json!("other"))),
        ("a critical extension", in_header("crit", json!(["exp"]))),
    ]);
}

#[test]
fn tokens_with_other_claims_are_refused() {
    let from_the_future = with(
        with(claims(), "iat", json!(now_s() + 61)),
        "exp",
        json!(now_s() + 961),
    );
    assert_not_ours(&[
        ("another issuer", in_claims("iss", json!("somebody"))),
        ("no issuer", lacking_claim("iss")),
        ("another audience", in_claims("aud", json!("another-api"))),
        ("no audience", lacking_claim("aud")),
        ("no subject", lacking_claim("sub")),
        ("no site", lacking_claim("site")),
        ("no expiry", lacking_claim("exp")),
        ("an expiry as text", in_claims("exp", json!("never"))),
        ("a life of a year", in_claims("exp", json!(now_s() + 31_536_000))),
        (
            "an issue in the future",
            signed(&SECRET, &header(), &from_the_future),
        ),
    ]);
    let old = with(
        with(claims(), "iat", json!(now_s() - 960)),
        "exp",
        json!(now_s() - 60),
    );
    assert_eq!(
        tokens().verify(&signed(&SECRET, &header(), &old), NOW),
        Err(TokenRefused::Expired)
    );
}

// RFC 7515, appendix A.1 and RFC 7519, section 6.1: well-formed tokens, of algorithms that are not taken here.
#[test]
fn the_tokens_of_the_rfcs_are_refused() {
    let vectors: Value = serde_json::from_str(VECTORS).unwrap();
    let text = |name: &str| vectors[name].as_str().unwrap();
    let key = URL_SAFE_NO_PAD.decode(text("key_b64url")).unwrap();
    let (input, signature) = text("token").rsplit_once('.').unwrap();
    assert_eq!(
        URL_SAFE_NO_PAD.encode(hmac_sha256(&key, input.as_bytes())),
        signature,
        "the vector itself is right"
    );
    let when_valid = Timestamp(0).plus_s(vectors["exp"].as_i64().unwrap() - 10);
    for token in [text("token"), text("unsecured_jwt_rfc7519_6_1")] {
        assert_eq!(tokens().verify(token, when_valid), Err(TokenRefused::NotOurs));
    }
}

// RFC 8037, appendix A.1 to A.3 (from memory): the key is that of RFC 8032, section 7.1, test 1.
#[test]
fn the_key_id_is_the_thumbprint_of_the_rfc() {
    let secret = hex::decode("9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60").unwrap();
    let key = SigningKey::from_bytes(&secret.try_into().unwrap());
    assert_eq!(key.id(), "kPrK_qmxVWaYVA9wwBF6Iuo3vVzz7TxHCTwXBygrS4k");
}

#[test]
fn a_session_that_ended_takes_its_tokens_with_it() {
    let tokens = tokens();
    let token = tokens.issue(&identity(), "spindlebook", NOW).unwrap();
    let other = Identity {
        session: Some(Uuid::from_u128(8)),
        device: None,
        ..identity()
    };
    let others = tokens.issue(&other, "spindlebook", NOW).unwrap();
    let unseen = tokens.issue(&identity(), "spindlebook", NOW).unwrap();
    assert!(tokens.verify(&token, NOW).is_ok());
    tokens.end_session(Uuid::from_u128(3), NOW);
    assert_eq!(tokens.verify(&token, NOW), Err(TokenRefused::SessionEnded));
    assert_eq!(tokens.verify(&unseen, NOW), Err(TokenRefused::SessionEnded));
    assert_eq!(tokens.verify(&others, NOW), Ok(other));
}

#[test]
fn the_key_file_is_made_once_and_only_its_owner_reads_it() {
    let folder = std::env::temp_dir().join(format!("spindlebook-key-{}", Uuid::new_v4()));
    std::fs::create_dir(&folder).unwrap();
    let file = folder.join("signing-key.pem");
    let made = SigningKey::load_or_create(&file).unwrap();
    assert_eq!(SigningKey::load_or_create(&file).unwrap().id(), made.id());
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let set_mode = |bits| std::fs::set_permissions(&file, std::fs::Permissions::from_mode(bits)).unwrap();
        assert_eq!(
            std::fs::metadata(&file).unwrap().permissions().mode() & 0o777,
            0o600
        );
        set_mode(0o644);
        assert!(matches!(
            SigningKey::load(&file),
            Err(KeyError::OpenToOthers { mode: 0o644, .. })
        ));
        set_mode(0o600);
    }
    std::fs::write(&file, "no key").unwrap();
    assert!(matches!(
        SigningKey::load_or_create(&file),
        Err(KeyError::NotAKey { .. })
    ));
    assert_eq!(
        std::fs::read_dir(&folder).unwrap().count(),
        1,
        "no draft is left behind"
    );
    std::fs::remove_dir_all(&folder).unwrap();
}
