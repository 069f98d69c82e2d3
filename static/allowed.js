// Every element and attribute a page of ours is made of, in one list: what makes nodes here leaves out all else, and
// the tests of the server and of the engine read the pages with it. Data, so that they can.
export const allowed = {
  "attributes": ["aria-controls", "aria-current", "aria-describedby", "aria-hidden", "aria-invalid", "aria-label",
    "aria-labelledby", "aria-live", "aria-pressed", "class", "hidden", "id", "lang", "role", "tabindex", "title"],
  "html": {
    "html": [], "head": [], "body": [],
    "a": ["href", "rel", "target"], "article": [], "aside": [], "b": [], "blockquote": [], "br": [],
      "button": ["name", "type", "value"], "caption": [], "code": [], "col": [], "colgroup": [],
    "dd": [], "del": [], "details": ["open"], "dialog": [], "div": [], "dl": [], "dt": [], "em": [], "fieldset": [],
      "figcaption": [], "figure": [], "footer": [],
    "form": ["action", "method"], "h1": [], "h2": [], "h3": [], "h4": [], "h5": [], "h6": [], "header": [], "hr": [],
      "i": [], "img": ["alt", "src"],
    "input": ["accept", "autocapitalize", "autocomplete", "checked", "disabled", "inputmode", "max", "maxlength", "min",
      "name", "placeholder", "readonly", "required", "size", "spellcheck", "step", "type", "value"],
    "ins": [], "kbd": [], "label": ["for"], "legend": [], "li": [], "main": [], "nav": [], "ol": ["reversed", "start"],
      "optgroup": ["label"], "option": ["selected", "value"], "output": [], "p": [], "pre": [],
    "section": [], "select": ["name", "required"], "small": [], "span": [], "strong": [], "sub": [], "summary": [],
      "sup": [], "table": [], "tbody": [],
    "td": ["colspan"], "textarea": ["autocapitalize", "autocomplete", "name", "spellcheck"], "tfoot": [],
      "th": ["colspan", "scope"], "thead": [], "time": ["datetime"], "tr": [], "ul": [], "var": []
  },
  "svg": {
    "svg": ["height", "overflow", "preserveAspectRatio", "viewBox", "width", "x", "xmlns", "y"],
      "g": ["fill", "font-size", "stroke", "stroke-linejoin", "stroke-width", "text-anchor", "transform"],
    "circle": ["cx", "cy", "r"], "ellipse": ["cx", "cy", "rx", "ry"], "line": ["x1", "x2", "y1", "y2"],
      "path": ["d", "fill", "opacity", "stroke", "stroke-width", "transform"],
    "rect": ["fill", "height", "stroke", "width", "x", "y"],
      "text": ["font-size", "text-anchor", "transform", "x", "y"], "title": []
  }
};
