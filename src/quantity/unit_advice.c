#include "quantity/vocabulary.h"

/* What may have been meant, most certain first: a known habit; the unit's title, or its letters in another case; a product
 * run together (N-m, kWh); a power without its sign (m2); the nearest name. */

static const struct {
    const char *written, *right;
} habits[] = {
#define HABIT(written, right) {written, right},
#include "quantity/habit.def"
#undef HABIT
};

static Text sentence(Vocabulary *v, const char *before, Text unit, const char *after) {
    TextBuilder builder = text_builder(v->arena);
    text_add_string(&builder, before);
    text_add(&builder, unit);
    text_add_string(&builder, after);
    return text_built(&builder);
}

static bool is_known(const Vocabulary *v, Text name) {
    uint32_t prefix, unit, barred;
    return name.length > 0 && unit_find(v, name, &prefix, &unit, &barred);
}

/* Every factor of a simple unit (names joined by · and /, with ² and ³) is known. */
static bool is_known_product(const Vocabulary *v, Text text) {
    size_t start = 0;
    for (size_t i = 0; i <= text.length;) {
        Text rest = text_slice(text, i, text.length);
        bool dot = text_starts(rest, TEXT("·"));
        if (rest.length > 0 && rest.at[0] != '/' && !dot) {
            i++;
            continue;
        }
        Text name = text_slice(text, start, i);
        if (text_ends(name, TEXT("²")) || text_ends(name, TEXT("³"))) name.length -= 2;
        if (!is_known(v, name)) return false;
        i += dot ? 2 : 1;
        start = i;
    }
    return true;
}

static Text habit(Vocabulary *v, Text name) {
    for (size_t i = 0; i < sizeof habits / sizeof habits[0]; i++)
        if (text_is(name, habits[i].written) && is_known_product(v, text_from(habits[i].right)))
            return sentence(v, "Write ", text_from(habits[i].right), ".");
    return (Text){0};
}

static char lower(char c) { return c >= 'A' && c <= 'Z' ? (char)(c + ('a' - 'A')) : c; }

static bool equal_but_case(Text a, Text b) {
    if (a.length != b.length) return false;
    for (size_t i = 0; i < a.length; i++)
        if (lower(a.at[i]) != lower(b.at[i])) return false;
    return true;
}

static bool is_title(Text name, Text title) {
    if (title.length == 0) return false;
    if (equal_but_case(name, title)) return true;
    return name.length == title.length + 1 && lower(name.at[title.length]) == 's' &&
           equal_but_case(text_slice(name, 0, title.length), title);
}

/* N-m, N.m, kWh, gcm: two known units with nothing, or the wrong sign, between them. */
static Text run_together(Vocabulary *v, Text name) {
    for (size_t i = 1; i < name.length; i++) {
        bool sign = name.at[i] == '-' || name.at[i] == '.';
        Text left = text_slice(name, 0, i), right = text_slice(name, sign ? i + 1 : i, name.length);
        if (!is_known(v, left) || !is_known(v, right)) continue;
        TextBuilder product = text_builder(v->arena);
        text_add(&product, left);
        text_add_string(&product, "·");
        text_add(&product, right);
        return sentence(v, "Factors are joined by · or *: ", text_built(&product), ".");
    }
    return (Text){0};
}

/* m2: a known unit and a digit. */
static Text bare_power(Vocabulary *v, Text name) {
    if (name.length < 2 || name.at[name.length - 1] < '2' || name.at[name.length - 1] > '9') return (Text){0};
    Text unit = text_slice(name, 0, name.length - 1);
    if (!is_known(v, unit)) return (Text){0};
    TextBuilder power = text_builder(v->arena);
    text_add(&power, unit);
    text_add_char(&power, '^');
    text_add(&power, text_slice(name, name.length - 1, name.length));
    return sentence(v, "A power has its sign: ", text_built(&power), ".");
}

/* ---- the nearest name ---- */

typedef struct Search {
    Vocabulary *vocabulary;
    Text name;
    Text same;    /* the same letters in another case, or the unit with this title */
    Text nearest;
    unsigned distance; /* of `nearest` */
    Text titled;       /* the unit with a title spelled nearly so */
    unsigned title_distance;
} Search;

static void consider(Search *search, Text candidate) {
    if (equal_but_case(search->name, candidate) &&
        (search->same.length == 0 || text_distance(search->name, candidate, 64) < text_distance(search->name, search->same, 64)))
        search->same = candidate;
    if (search->distance == 0 || search->name.length < 2) return;
    size_t a = search->name.length, b = candidate.length;
    if ((a > b ? a - b : b - a) >= search->distance) return;
    unsigned distance = text_distance(search->name, candidate, search->distance - 1);
    if (distance >= search->distance) return;
    search->distance = distance;
    search->nearest = candidate;
}

static void consider_with_prefixes(Search *search, Text name) {
    Vocabulary *v = search->vocabulary;
    char room[64];
    for (uint32_t i = 1; i < v->prefixes.count; i++) {
        Text prefix = symbol_text(v->symbols, v->prefixes.at[i].name);
        size_t length = prefix.length + name.length;
        if (length > sizeof room || length > search->name.length + 2 || length + 2 < search->name.length) continue;
        for (size_t k = 0; k < prefix.length; k++) room[k] = prefix.at[k];
        for (size_t k = 0; k < name.length; k++) room[prefix.length + k] = name.at[k];
        Text before = search->nearest, same = search->same;
        consider(search, (Text){room, length});
        if (search->nearest.at == room && before.at != room) search->nearest = text_copy(v->arena, search->nearest);
        if (search->same.at == room && same.at != room) search->same = text_copy(v->arena, search->same);
    }
}

static void consider_title(Search *search, Text title, Text name) {
    if (is_title(search->name, title) && search->same.length == 0) search->same = name;
    if (search->name.length < 4 || search->title_distance == 0) return;
    unsigned distance = text_distance(search->name, title, search->title_distance - 1);
    if (distance >= search->title_distance) return;
    search->title_distance = distance;
    search->titled = name;
}

static void search_all(Search *search) {
    Vocabulary *v = search->vocabulary;
    for (int with_prefixes = 0; with_prefixes < 2; with_prefixes++) {
        for (uint32_t i = 1; i < v->units.count; i++) {
            const Node *node = tree_node(v->tree, v->units.at[i].node);
            if (with_prefixes && !v->units.at[i].prefixes) continue;
            if (!with_prefixes) consider_title(search, tree_title(v->tree, v->arena, v->units.at[i].node), symbol_text(v->symbols, node->name));
            for (const Node *named = node;; named = tree_node(v->tree, named == node ? node->a : named->next)) {
                Text name = symbol_text(v->symbols, named->name);
                if (with_prefixes) consider_with_prefixes(search, name);
                else consider(search, name);
                if ((named == node ? node->a : named->next) == 0) break;
            }
        }
    }
}

static Search search_for(Vocabulary *vocabulary, Text name) {
    unsigned limit = name.length < 3 ? 2 : 3;
    Search search = {.vocabulary = vocabulary, .name = name, .distance = limit, .title_distance = limit};
    if (name.length > 64 || vocabulary->searches >= UNIT_SEARCH_LIMIT) return search;
    vocabulary->searches++;
    search_all(&search);
    return search;
}

Text unit_in_another_case(Vocabulary *vocabulary, Text name) { return search_for(vocabulary, name).same; }

Text unit_advice(Vocabulary *vocabulary, Text name) {
    Text advice = habit(vocabulary, name);
    if (advice.length) return advice;
    Search search = search_for(vocabulary, name);
    if (search.same.length) return sentence(vocabulary, "Write ", search.same, ".");
    if (name.length <= 64) advice = run_together(vocabulary, name);
    if (!advice.length) advice = bare_power(vocabulary, name);
    if (!advice.length && search.titled.length) advice = sentence(vocabulary, "Did you mean ", search.titled, "?");
    if (!advice.length && search.nearest.length) advice = sentence(vocabulary, "Did you mean ", search.nearest, "?");
    if (advice.length || name.length > 64) return advice;
    return sentence(vocabulary, "A unit of your own is declared with its size: unit ", name, " \"…\" = …");
}
