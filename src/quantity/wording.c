#include <string.h>

#include "quantity/vocabulary.h"

static bool begins_with_vowel(Text word) { return word.length > 0 && memchr("aeiouAEIOU", word.at[0], 10) != NULL; }

/* counts-per-turn */
static bool is_plural(Text name) {
    size_t end = 0;
    while (end < name.length && name.at[end] != '-') end++;
    return end > 2 && name.at[end - 1] == 's' && name.at[end - 2] != 's';
}

Text measure_words(const Vocabulary *vocabulary, Arena *arena, Measure measure) {
    KindId id = kind_for(vocabulary, measure);
    if (id == 0 && dimension_is_number(measure.dimension)) return TEXT("a number");
    TextBuilder builder = text_builder(arena);
    if (id == 0) {
        text_add_string(&builder, "a quantity in ");
        text_add(&builder, dimension_spell(vocabulary, arena, measure.dimension));
        return text_built(&builder);
    }
    Text name = symbol_text(vocabulary->symbols, kind_of(vocabulary, id)->name);
    if (!is_plural(name)) text_add_string(&builder, begins_with_vowel(name) ? "an " : "a ");
    for (size_t i = 0; i < name.length; i++) text_add_char(&builder, name.at[i] == '-' ? ' ' : name.at[i]);
    return text_built(&builder);
}

Text kind_example(const Vocabulary *vocabulary, Arena *arena, KindId id, Text number) {
    const Kind *kind = kind_of(vocabulary, id);
    Text unit = symbol_text(vocabulary->symbols, unit_of(vocabulary, kind_usual_unit(kind))->text);
    TextBuilder builder = text_builder(arena);
    text_add(&builder, number);
    if (unit.length > 0 && !text_is(unit, "1")) {
        text_add_char(&builder, ' ');
        text_add(&builder, unit);
    }
    return text_built(&builder);
}
